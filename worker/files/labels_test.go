package files

import (
	"errors"
	"strings"
	"testing"

	"partwright/worker/settings"
)

func TestLabelsBesideScores(t *testing.T) {
	const numerals = "m1 C: I b3 V\n"
	for _, test := range []struct {
		why   string
		files map[string]string
		err   error
		// want is the file that counts, "" for none; fails is part of the error.
		want, fails string
	}{
		{"nothing came", nil, nil, "", ""},
		{"the labels of another score", map[string]string{"class/2.rntxt": numerals, "1.rntxt": numerals}, nil, "", ""},
		{"labels in the same folder", map[string]string{"class/1.rntxt": numerals}, nil, "all.zip/class/1.rntxt", ""},
		{"a text with numerals", map[string]string{"class/1.txt": numerals}, nil, "all.zip/class/1.txt", ""},
		{"a text without", map[string]string{"class/1.txt": "bring this on Monday"}, nil, "", ""},
		{"both: the name that says labels", map[string]string{"class/1.rntxt": numerals, "class/1.txt": numerals}, nil, "all.zip/class/1.rntxt", ""},
		{"what says labels and is none", map[string]string{"class/1.rntxt": "bring this on Monday"}, nil, "", "holds no numeral"},
		{"larger than a file of settings", map[string]string{"class/1.rntxt": strings.Repeat("x", settings.MaxBytes+1)}, nil, "", "larger than"},
		{"could not be taken out", map[string]string{"class/1.rntxt": numerals}, errors.New("the archive is damaged"), "", "all.zip/class/1.rntxt: the archive is damaged"},
		{"a text that could not be taken out", map[string]string{"class/1.txt": numerals}, errors.New("the archive is damaged"), "", ""},
	} {
		files := &LabelFiles{}
		for name, text := range test.files {
			files.Add(name, "all.zip/"+name, []byte(text), test.err)
		}
		read := files.Beside("class/1.musicxml")
		got := ""
		var err error
		if read != nil {
			var labels *settings.Labels
			if labels, err = read(); labels != nil {
				got = labels.File
			}
		}
		if got != test.want || (err == nil) != (test.fails == "") || err != nil && !strings.Contains(err.Error(), test.fails) {
			t.Errorf("%s: %q, %v", test.why, got, err)
		}
	}
}

// What is held in memory is bounded, and what is beyond fails with its score.
func TestLabelsThatCameTogetherAreBounded(t *testing.T) {
	files := &LabelFiles{}
	for n := range maxLabels/settings.MaxBytes + 1 {
		files.Add(strings.Repeat("i", n+1)+".rntxt", "labels.rntxt", make([]byte, settings.MaxBytes), nil)
	}
	var wrong *settings.Error
	if _, err := files.Beside(strings.Repeat("i", maxLabels/settings.MaxBytes+1) + ".mxl")(); !errors.As(err, &wrong) || !strings.Contains(err.Error(), "together") {
		t.Errorf("the last: %v", err)
	}
}
