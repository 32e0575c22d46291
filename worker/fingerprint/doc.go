// Package fingerprint tells whether parts of this program are written alike in two
// versions of it, by the text that the packages embed of themselves. Begin at [Of], for
// whole packages, and at [Read], which tells the entries of lists, such as rules, apart.
//
// Another fingerprint says that another answer is possible. The same one says that the
// text is the same; what it does not see are the libraries, the compiler and the machine.
package fingerprint
