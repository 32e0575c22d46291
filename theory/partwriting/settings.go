package partwriting

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"partwright/theory"
	"partwright/theory/texture"
)

// Setting is one threshold of a rule set under the name that files and pages use.
type Setting struct {
	// Name is in kebab case; Takes says what it takes, such as "an interval".
	Name, Takes string
	// Set reads a value into limits; Get writes the value that holds.
	Set func(*Limits, string) error
	Get func(*Limits) string
}

// settings lists every threshold but the ranges, which have a list of their own.
var settings = []Setting{
	intervalSetting("upper-spacing", func(l *Limits) *theory.Interval { return &l.UpperSpacing }),
	intervalSetting("hand-span", func(l *Limits) *theory.Interval { return &l.HandSpan }),
	intervalSetting("bass-gap", func(l *Limits) *theory.Interval { return &l.BassGap }),
	intervalSetting("leap-recovery", func(l *Limits) *theory.Interval { return &l.LeapRecovery }),
	{
		Name: "low-spacing-below", Takes: "a pitch such as C3",
		Set: func(l *Limits, text string) (err error) {
			l.LowSpacingBelow, err = theory.ParsePitch(text)
			return err
		},
		Get: func(l *Limits) string { return l.LowSpacingBelow.String() },
	},
	{
		Name: "min-confidence", Takes: "a number from 0 to 1",
		Set: func(l *Limits, text string) error {
			f, err := strconv.ParseFloat(text, 64)
			if err != nil || !(f > 0 && f <= 1) {
				return fmt.Errorf("%q is not a number above 0 and up to 1", text)
			}
			l.MinConfidence = f
			return nil
		},
		Get: func(l *Limits) string { return strconv.FormatFloat(l.MinConfidence, 'g', -1, 64) },
	},
	wordSetting("contrary-pairs", func(l *Limits) *PairChoice { return &l.ContraryPairs }, map[string]PairChoice{"any": AnyPair, "outer": OuterPair}),
	wordSetting("embellished-parallels", func(l *Limits) *Embellished { return &l.EmbellishedParallels }, map[string]Embellished{
		"as-others": WeighedAsOthers, "caution": WeighedAsCaution, "remark": WeighedAsRemark, "off": Unweighed,
	}),
	wordSetting("accepted-texts", func(l *Limits) *bool { return &l.IgnoreAcceptedTexts }, map[string]bool{"heed": false, "ignore": true}),
	wordSetting("predominant-fifth", func(l *Limits) *bool { return &l.PredominantFifthFree }, map[string]bool{"needed": false, "free": true}),
	{
		Name: "cadences", Takes: "cadences phrase by phrase, such as HC PAC",
		Set: func(l *Limits, text string) (err error) {
			l.Cadences, err = parseCadences(text)
			return err
		},
		Get: func(l *Limits) string { return strings.Join(l.Cadences, " ") },
	},
	{
		Name: "texture", Takes: "a texture such as choir or piano",
		Set: func(l *Limits, text string) (err error) {
			l.Texture, err = texture.ParseKind(text)
			return err
		},
		Get: func(l *Limits) string { return l.Texture.String() },
	},
	wordSetting("direct-approach", func(l *Limits) *Approach { return &l.DirectApproach }, map[string]Approach{"leap": ByLeap, "any": AnyApproach}),
}

func intervalSetting(name string, field func(*Limits) *theory.Interval) Setting {
	return Setting{
		Name: name, Takes: "an interval such as P8 or M10",
		Set: func(l *Limits, text string) error {
			i, err := theory.ParseInterval(text)
			if err == nil && (i.Descends() || i == theory.Unison) {
				err = fmt.Errorf("%q is no interval upwards", text)
			}
			if err != nil {
				return err
			}
			*field(l) = i
			return nil
		},
		Get: func(l *Limits) string { return field(l).String() },
	}
}

func wordSetting[T comparable](name string, field func(*Limits) *T, words map[string]T) Setting {
	names := slices.Sorted(maps.Keys(words))
	return Setting{
		Name: name, Takes: strings.Join(names, " or "),
		Set: func(l *Limits, text string) error {
			value, ok := words[text]
			if !ok {
				return fmt.Errorf("%q is not %s", text, strings.Join(names, " or "))
			}
			*field(l) = value
			return nil
		},
		Get: func(l *Limits) string {
			for _, name := range names {
				if words[name] == *field(l) {
					return name
				}
			}
			return ""
		},
	}
}

// Settings returns every threshold that a set can change, in a fixed order.
func Settings() []Setting { return append([]Setting(nil), settings...) }

// SettingByName returns the setting of that name, and false where there is none.
func SettingByName(name string) (Setting, bool) {
	for _, s := range settings {
		if s.Name == name {
			return s, true
		}
	}
	return Setting{}, false
}

// ParseRange reads "C4-G5".
func ParseRange(text string) (Range, error) {
	fail := fmt.Errorf("%q is not a range such as C4-G5", text)
	for i := 1; i < len(text); i++ {
		if text[i] != '-' {
			continue
		}
		low, err := theory.ParsePitch(strings.TrimSpace(text[:i]))
		if err != nil {
			continue
		}
		high, err := theory.ParsePitch(strings.TrimSpace(text[i+1:]))
		if err != nil || low.Above(high) {
			return Range{}, fail
		}
		return Range{low, high}, nil
	}
	return Range{}, fail
}

// String returns "C4-G5".
func (r Range) String() string { return r.Low.String() + "-" + r.High.String() }

// askable are the cadences that can be asked for: AC is any authentic one, and a
// hyphen asks for nothing.
var askable = []string{"PAC", "IAC", "AC", "HC", "PC", "DC", "-"}

// parseCadences reads "HC PAC".
func parseCadences(text string) ([]string, error) {
	asked := strings.Fields(text)
	for _, word := range asked {
		if !slices.Contains(askable, word) {
			return nil, fmt.Errorf("%q is no cadence; write %s", word, strings.Join(askable, ", "))
		}
	}
	return asked, nil
}
