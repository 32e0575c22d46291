package theory

import (
	"errors"
	"math"
	"math/big"
	"math/rand/v2"
	"testing"
)

func TestFractionArithmetic(t *testing.T) {
	half, third := Frac(1, 2), Frac(1, 3)
	tests := []struct {
		name string
		got  Fraction
		want string
	}{
		{"lowest terms", Frac(6, 4), "3/2"},
		{"sign on top", Frac(3, -4), "-3/4"},
		{"zero", Frac(0, 7), "0"},
		{"sum", half.Add(third), "5/6"},
		{"sum of like parts", half.Add(half), "1"},
		{"difference", third.Sub(half), "-1/6"},
		{"product", half.Mul(Frac(2, 3)), "1/3"},
		{"quotient", Whole(3).Div(Frac(3, 2)), "2"},
		{"a triplet eighth three times", third.Add(third).Add(third), "1"},
		{"quintuplet and triplet", Frac(1, 5).Add(third), "8/15"},
	}
	for _, tt := range tests {
		if tt.got.String() != tt.want {
			t.Errorf("%s: %v, want %s", tt.name, tt.got, tt.want)
		}
	}
	if (Fraction{}) != Whole(0) || (Fraction{}).Den() != 1 {
		t.Error("the zero value is not 0")
	}
	if Frac(2, 4) != half {
		t.Error("equal fractions differ by ==")
	}
	if half.In(480) != 240 || Frac(-3, 2).In(4) != -6 {
		t.Error("half a quarter note is not 240 of 480")
	}
}

// big arithmetic of the standard library is the reference.
func TestFractionAgreesWithBigRationals(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	divisors := []int64{1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 96, 480, 1 << 20, 1 << 30, MaxResolution}
	random := func() Fraction {
		den := divisors[r.IntN(len(divisors))]
		return Frac(r.Int64N(2*MaxQuarters*den)-MaxQuarters*den, den)
	}
	rational := func(f Fraction) *big.Rat { return big.NewRat(f.Num(), f.Den()) }
	for range 20_000 {
		f, g := random(), random()
		if f.Den()*3 > MaxResolution && g.Den()%3 == 0 || g.Den()*3 > MaxResolution && f.Den()%3 == 0 {
			continue // no resolution covers both
		}
		if got, want := rational(f.Add(g)), new(big.Rat).Add(rational(f), rational(g)); got.Cmp(want) != 0 {
			t.Fatalf("%v + %v = %v, want %v", f, g, got, want)
		}
		if got, want := rational(f.Sub(g)), new(big.Rat).Sub(rational(f), rational(g)); got.Cmp(want) != 0 {
			t.Fatalf("%v - %v = %v, want %v", f, g, got, want)
		}
		if got, want := f.Cmp(g), rational(f).Cmp(rational(g)); got != want {
			t.Fatalf("%v against %v is %d, want %d", f, g, got, want)
		}
	}
}

func TestFractionComparesAbsurdOnes(t *testing.T) {
	// Whatever the terms, comparing is exact: it takes 128 bits.
	nearOne, nearer := Frac(math.MaxInt64-1, math.MaxInt64), Frac(math.MaxInt64-2, math.MaxInt64-1)
	if nearOne.Cmp(nearer) != 1 || nearer.Cmp(nearOne) != -1 {
		t.Error("two fractions just under 1 are told apart the wrong way")
	}
	low, high := Frac(-math.MaxInt64, 3), Frac(math.MaxInt64, 2)
	if low.Cmp(high) != -1 || high.Cmp(low) != 1 || low.Cmp(low) != 0 {
		t.Error("the widest fractions are told apart the wrong way")
	}
}

func TestNewFractionRefuses(t *testing.T) {
	for _, terms := range [][2]int64{{1, 0}, {math.MinInt64, 1}, {1, math.MinInt64}} {
		if f, err := NewFraction(terms[0], terms[1]); !errors.Is(err, ErrFraction) {
			t.Errorf("%d/%d became %v", terms[0], terms[1], f)
		}
	}
	for text, why := range map[string]string{
		"": "nothing", "/": "no numbers", "1/": "no denominator", "/2": "no numerator", "1/0": "divided by nothing",
		"1/-2": "the sign stands on top", "1.5": "a decimal point", "1/2/3": "two bars", " 1": "a space", "+1": "a plus",
		"1/+2": "a plus", "9223372036854775808": "too large", "1e3": "an exponent", "0x10": "another base", "½": "a sign for it",
	} {
		if f, err := ParseFraction(text); !errors.Is(err, ErrFraction) {
			t.Errorf("%q (%s) was read as %v", text, why, f)
		}
	}
}

func TestFractionText(t *testing.T) {
	var f Fraction
	if err := f.UnmarshalText([]byte("7/2")); err != nil || f != Frac(7, 2) {
		t.Errorf("7/2 is %v, %v", f, err)
	}
	if err := f.UnmarshalText([]byte("x")); err == nil || f != Frac(7, 2) {
		t.Errorf("a refused text changed the value to %v", f)
	}
	if text, err := f.MarshalText(); err != nil || string(text) != "7/2" {
		t.Errorf("written %q, %v", text, err)
	}
}

func FuzzParseFraction(f *testing.F) {
	for _, seed := range []string{"0", "-3", "3/2", "6/4", "1/0", "9223372036854775807/2", "-9223372036854775808", "1/-1", "01/02"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		a, err := ParseFraction(text)
		if err != nil {
			if a != (Fraction{}) {
				t.Errorf("%q: an error and a fraction, %v", text, a)
			}
			return
		}
		if gcd(a.Num(), a.Den()) > 1 || a.Den() < 1 {
			t.Errorf("%q is %d/%d, not in lowest terms", text, a.Num(), a.Den())
		}
		if again, err := ParseFraction(a.String()); err != nil || again != a {
			t.Errorf("%q is %v, which reads back as %v, %v", text, a, again, err)
		}
	})
}

func BenchmarkFraction(b *testing.B) {
	f, g := Frac(7, 4), Frac(5, 3)
	b.Run("Add", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			f.Add(g)
		}
	})
	b.Run("Cmp", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			f.Cmp(g)
		}
	})
}
