// Package sittings holds tests of the page that go through several views, as its users do in
// one sitting.
package sittings
