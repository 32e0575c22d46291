package musicxml

import "bytes"

// decimal is a number as a document writes it: digits / scale, where scale is a
// power of ten. MusicXML's durations, divisions and alterations are xs:decimal.
type decimal struct{ digits, scale int64 }

// Limits of decimal: more figures than these are an absurd document, not music.
const (
	maxFigures  = 15
	maxDecimals = 4
)

// numberFault says what is wrong with the text of a number.
type numberFault int8

const (
	numberFine numberFault = iota
	numberMalformed
	numberTooLong
)

// parseDecimal reads an optional sign, figures and decimals, with white space
// around them. Zeros at the end of the decimals are dropped, so that "2.0" is 2.
func parseDecimal(raw []byte) (decimal, numberFault) {
	if n, ok := shortFigures(raw); ok {
		return decimal{n, 1}, numberFine
	}
	raw = bytes.TrimSpace(raw)
	negative := false
	if len(raw) > 0 && (raw[0] == '-' || raw[0] == '+') {
		negative, raw = raw[0] == '-', raw[1:]
	}
	whole, decimals, _ := bytes.Cut(raw, []byte("."))
	if len(whole)+len(decimals) == 0 || !allFigures(whole) || !allFigures(decimals) {
		return decimal{}, numberMalformed
	}
	whole, decimals = bytes.TrimLeft(whole, "0"), bytes.TrimRight(decimals, "0")
	if len(whole)+len(decimals) > maxFigures || len(decimals) > maxDecimals {
		return decimal{}, numberTooLong
	}
	d := decimal{scale: 1}
	for _, figure := range whole {
		d.digits = 10*d.digits + int64(figure-'0')
	}
	for _, figure := range decimals {
		d.digits, d.scale = 10*d.digits+int64(figure-'0'), 10*d.scale
	}
	if negative {
		d.digits = -d.digits
	}
	return d, numberFine
}

func allFigures(raw []byte) bool {
	for _, b := range raw {
		if b < '0' || b > '9' {
			return false
		}
	}
	return true
}

// parseWhole reads a whole number, written with or without decimals that are 0.
func parseWhole(raw []byte) (int64, bool) {
	d, fault := parseDecimal(raw)
	return d.digits, fault == numberFine && d.scale == 1
}

// wholeWithin reads a whole number that must lie between low and high.
func wholeWithin(raw []byte, low, high int64) (int64, bool) {
	n, ok := parseWhole(raw)
	return n, ok && low <= n && n <= high
}

// shortFigures reads one to nine plain figures, the form that nearly every
// number of a score has; ok is false for anything else.
func shortFigures(raw []byte) (n int64, ok bool) {
	if len(raw) == 0 || len(raw) > 9 {
		return 0, false
	}
	for _, b := range raw {
		if b < '0' || b > '9' {
			return 0, false
		}
		n = 10*n + int64(b-'0')
	}
	return n, true
}

func gcd(a, b int64) int64 {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// lcm of two positive numbers; ok is false where it exceeds most.
func lcm(a, b, most int64) (n int64, ok bool) {
	b /= gcd(a, b)
	if b > most/a {
		return 0, false
	}
	return a * b, true
}
