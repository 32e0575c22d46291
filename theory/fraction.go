package theory

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"math/bits"
	"strconv"
	"strings"
)

// Fraction is an exact number of quarter notes: an onset, a duration, an offset
// or the length of a measure. The zero value is 0. Fractions are kept in lowest
// terms with a positive denominator, so == compares them and they serve as map
// keys.
//
// Within the limits that a [Score] keeps, [MaxQuarters] and [MaxResolution],
// adding, subtracting and comparing its onsets and durations is exact and cannot
// overflow; readers see to the limits. Comparing is exact for any two fractions.
// Otherwise a result beyond 64 bits wraps around, as with integers.
type Fraction struct {
	num int64
	// den is the denominator minus one, so that the zero value is 0/1.
	den int64
}

// Limits within which the arithmetic of one score is exact in 64 bits.
const (
	// MaxQuarters is the largest onset or duration of a score, in quarter notes.
	MaxQuarters = 1 << 24
	// MaxResolution is the largest common denominator of a score.
	MaxResolution = 1 << 31
)

// ErrFraction is returned where a fraction has no value or would not fit.
var ErrFraction = errors.New("not an exact number of quarter notes that fits")

// Whole returns n as a fraction.
func Whole(n int64) Fraction { return Fraction{num: n} }

// NewFraction returns num/den in lowest terms. It fails with [ErrFraction] where
// den is 0 or either term is the smallest 64-bit integer.
func NewFraction(num, den int64) (Fraction, error) {
	if den == 0 || num == math.MinInt64 || den == math.MinInt64 {
		return Fraction{}, ErrFraction
	}
	return reduce(num, den), nil
}

// Frac is [NewFraction] for constants; it panics where that would fail.
func Frac(num, den int64) Fraction {
	f, err := NewFraction(num, den)
	if err != nil {
		panic(fmt.Sprintf("theory.Frac(%d, %d): %v", num, den, err))
	}
	return f
}

func reduce(num, den int64) Fraction {
	if den == 1 {
		return Fraction{num: num}
	}
	if den < 0 {
		num, den = -num, -den
	}
	if isPower(den) { // nearly always: halves, quarters, eighths of a quarter note
		shift := min(bits.TrailingZeros64(uint64(num)), bits.TrailingZeros64(uint64(den)))
		return Fraction{num: num >> shift, den: den>>shift - 1}
	}
	if g := gcd(num, den); g > 1 {
		num, den = num/g, den/g
	}
	return Fraction{num: num, den: den - 1}
}

// isPower reports whether a positive number is a power of two.
func isPower(n int64) bool { return n&(n-1) == 0 }

func gcd(a, b int64) int64 {
	if a < 0 {
		a = -a
	}
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

// Num returns the numerator.
func (f Fraction) Num() int64 { return f.num }

// Den returns the denominator, at least 1.
func (f Fraction) Den() int64 { return f.den + 1 }

// Add returns f + g.
func (f Fraction) Add(g Fraction) Fraction {
	if f.den == g.den {
		return reduce(f.num+g.num, f.den+1)
	}
	b, d := f.den+1, g.den+1
	if isPower(b) && isPower(d) {
		shift := bits.TrailingZeros64(uint64(b)) - bits.TrailingZeros64(uint64(d))
		if shift < 0 {
			return reduce(f.num<<-shift+g.num, d)
		}
		return reduce(f.num+g.num<<shift, b)
	}
	// The least common denominator keeps the terms small: both denominators
	// divide the score's resolution.
	common := gcd(b, d)
	return reduce(f.num*(d/common)+g.num*(b/common), b/common*d)
}

// Sub returns f - g.
func (f Fraction) Sub(g Fraction) Fraction {
	return f.Add(Fraction{num: -g.num, den: g.den})
}

// Mul returns f × g.
func (f Fraction) Mul(g Fraction) Fraction {
	if f.den == 0 && g.den == 0 {
		return Fraction{num: f.num * g.num}
	}
	a, b := reduce(f.num, g.den+1), reduce(g.num, f.den+1)
	return reduce(a.num*b.num, a.Den()*b.Den())
}

// Div returns f ÷ g. As with integers, dividing by 0 panics.
func (f Fraction) Div(g Fraction) Fraction {
	if g.num == 0 {
		panic("theory: fraction divided by 0")
	}
	if g == (Fraction{num: 1}) {
		return f
	}
	return f.Mul(reduce(g.den+1, g.num))
}

// Cmp returns -1, 0 or +1 as f is less than, equal to or greater than g.
func (f Fraction) Cmp(g Fraction) int {
	if f.den == g.den {
		return cmp.Compare(f.num, g.num)
	}
	if s := cmp.Compare(f.Sign(), g.Sign()); s != 0 {
		return s
	}
	// Same sign, so the products compare by magnitude, in 128 bits.
	hi1, lo1 := bits.Mul64(magnitude(f.num), uint64(g.den)+1)
	hi2, lo2 := bits.Mul64(magnitude(g.num), uint64(f.den)+1)
	s := cmp.Compare(hi1, hi2)
	if s == 0 {
		s = cmp.Compare(lo1, lo2)
	}
	return s * f.Sign()
}

func magnitude(a int64) uint64 {
	if a < 0 {
		return -uint64(a)
	}
	return uint64(a)
}

// Less reports whether f < g.
func (f Fraction) Less(g Fraction) bool { return f.Cmp(g) < 0 }

// Sign returns -1, 0 or +1.
func (f Fraction) Sign() int {
	switch {
	case f.num < 0:
		return -1
	case f.num > 0:
		return 1
	}
	return 0
}

// Float returns the nearest float64, for display and statistics only.
func (f Fraction) Float() float64 { return float64(f.num) / float64(f.den+1) }

// In returns f in units of 1/resolution quarter notes; resolution must be a
// multiple of f's denominator, as [Score.Resolution] is for its own fractions.
func (f Fraction) In(resolution int64) int64 { return f.num * (resolution / (f.den + 1)) }

// String returns "3" or "3/2".
func (f Fraction) String() string {
	if f.den == 0 {
		return strconv.FormatInt(f.num, 10)
	}
	return strconv.FormatInt(f.num, 10) + "/" + strconv.FormatInt(f.den+1, 10)
}

// ParseFraction reads "3", "-3" or "3/2": what [Fraction.String] writes, and
// fractions that are not in lowest terms. Decimal points, spaces and a plus sign
// are not accepted.
func ParseFraction(s string) (Fraction, error) {
	top, bottom, found := strings.Cut(s, "/")
	if !found {
		bottom = "1"
	}
	n, err := strconv.ParseInt(top, 10, 64)
	if err == nil {
		var d int64
		d, err = strconv.ParseInt(bottom, 10, 64)
		if err == nil && d > 0 && !strings.ContainsAny(s, "+") {
			if f, err := NewFraction(n, d); err == nil {
				return f, nil
			}
		}
	}
	return Fraction{}, fmt.Errorf("%q: %w", s, ErrFraction)
}

// MarshalText and UnmarshalText make a Fraction a string such as "3/2" in JSON.
func (f Fraction) MarshalText() ([]byte, error) { return []byte(f.String()), nil }

// UnmarshalText is the inverse of [Fraction.MarshalText].
func (f *Fraction) UnmarshalText(text []byte) error {
	g, err := ParseFraction(string(text))
	if err != nil {
		return err
	}
	*f = g
	return nil
}
