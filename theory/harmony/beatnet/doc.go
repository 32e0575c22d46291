// Package beatnet says for each beat of a piece how likely each key and each root
// is, and whether a harmony begins there. A small net hears what sounds around the
// beat, how the phrase and the piece end and what signature is printed; package
// harmony weighs its answer beside its tables.
//
// A net is one hidden layer. It is trained by worker/fitharmony and read from a
// file of whole numbers, see [Read].
package beatnet
