package theory

import (
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
// Arithmetic on fractions that belong to one [Score] cannot overflow, because a
// score's reader keeps every onset and duration within [MaxQuarters] and every
// denominator a divisor of [Score.Resolution], itself at most [MaxResolution].
// Readers use [AddChecked] and [NewFraction], which refuse what would not fit.
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
	if g := gcd(num, den); g > 1 {
		num, den = num/g, den/g
	}
	return Fraction{num: num, den: den - 1}
}

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
	return reduce(f.num*(g.den+1)+g.num*(f.den+1), (f.den+1)*(g.den+1))
}

// Sub returns f - g.
func (f Fraction) Sub(g Fraction) Fraction {
	return f.Add(Fraction{num: -g.num, den: g.den})
}

// AddChecked returns f + g and whether the sum could be formed without overflow.
func AddChecked(f, g Fraction) (Fraction, bool) {
	a, ok1 := mulChecked(f.num, g.den+1)
	b, ok2 := mulChecked(g.num, f.den+1)
	d, ok3 := mulChecked(f.den+1, g.den+1)
	sum := a + b
	overflow := (a > 0 && b > 0 && sum < 0) || (a < 0 && b < 0 && sum >= 0) || sum == math.MinInt64
	if !ok1 || !ok2 || !ok3 || overflow {
		return Fraction{}, false
	}
	return reduce(sum, d), true
}

func mulChecked(a, b int64) (int64, bool) {
	neg := (a < 0) != (b < 0)
	hi, lo := bits.Mul64(magnitude(a), magnitude(b))
	if hi != 0 || lo > math.MaxInt64 {
		return 0, false
	}
	if neg {
		return -int64(lo), true
	}
	return int64(lo), true
}

func magnitude(a int64) uint64 {
	if a < 0 {
		return uint64(-a)
	}
	return uint64(a)
}

// Mul returns f × g.
func (f Fraction) Mul(g Fraction) Fraction {
	a, b := reduce(f.num, g.den+1), reduce(g.num, f.den+1)
	return reduce(a.num*b.num, a.Den()*b.Den())
}

// Div returns f ÷ g; g must not be 0.
func (f Fraction) Div(g Fraction) Fraction {
	return f.Mul(reduce(g.den+1, g.num))
}

// Cmp returns -1, 0 or +1 as f is less than, equal to or greater than g.
func (f Fraction) Cmp(g Fraction) int {
	a, b := f.num, g.num
	if f.den != g.den {
		a, b = f.num*(g.den+1), g.num*(f.den+1)
	}
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
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

// ParseFraction reads "3", "-3" or "3/2". Decimal points are not accepted.
func ParseFraction(s string) (Fraction, error) {
	top, bottom, found := strings.Cut(s, "/")
	n, err := strconv.ParseInt(top, 10, 64)
	if err != nil {
		return Fraction{}, fmt.Errorf("%q: %w", s, ErrFraction)
	}
	d := int64(1)
	if found {
		if d, err = strconv.ParseInt(bottom, 10, 64); err != nil || d <= 0 {
			return Fraction{}, fmt.Errorf("%q: %w", s, ErrFraction)
		}
	}
	f, err := NewFraction(n, d)
	if err != nil {
		return Fraction{}, fmt.Errorf("%q: %w", s, err)
	}
	return f, nil
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
