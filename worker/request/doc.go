// Package request holds what a user can ask for, each thing once: its name, what
// it may be, its default, and the sentence that explains it.
//
// There is a request for each job: [Check], [Mend], [Voice], [Continue], [Clean],
// and [Batch] for many scores. A request is text: it is what flags, a query, a form
// or JSON say. [Bind] fills one from such text, so that every way in reads it alike;
// its method Plan turns it into what the engine runs, or says which field is wrong
// in an [Error].
//
// To add an option, add a field to a request and a line to its Fields, and use it
// where the plan is carried out. The contract in api describes it for clients; a test
// holds both to each other.
package request
