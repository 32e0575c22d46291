// Package queries asks a collection in three ways: its tables by an embedded SQL engine, a
// service over HTTP, and the JSON reports by a few lines each. It knows nothing of the
// program but what it prints and answers.
package queries
