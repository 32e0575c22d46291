package command

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"partwright/theory/partwriting"
	"partwright/worker"
	"partwright/worker/answer"
	"partwright/worker/files"
	"partwright/worker/report"
	"partwright/worker/request"
)

// voiceCommand are the settings of partwright voice.
type voiceCommand struct {
	scoreFlags
	request request.Voice
	fields  *requestFlags
	format  string
	name    string
}

func newVoice() *cobra.Command {
	var f voiceCommand
	cmd := &cobra.Command{
		Use:   "voice [flags] TASK…",
		Short: "Give a progression, a bass or a melody its voices",
		Long: `Voice leads the voices through a progression. Common tones stay, the other voices
move by the smallest step, nothing breaks a rule, and no phrase is cheaper.

TASK is a text, a file, a folder or archive of files, or - for standard input.

A score (.musicxml, .xml, .mxl) gives block chords, a bass line with figures, a
melody with or without chords named beside it, or both outer voices.

A text is a row of chords after a key: numerals in RomanText spelling or chord
symbols, a beat each or *N beats, || at the end of a phrase. A single bar line |
ends a measure, the first one a pickup where less than a measure stands before it;
in a row without durations what stands between two bar lines may also fill a
measure in equal parts (C: C | Am F | G7 | C). A text with measures (m1 I b3 V) is
read as RomanText. Notes in braces are given, from the top voice down, as in
V7{D5,-,F4}. After the word bass come bass notes with figures (F#2/6). After the
word soprano come the notes of a melody, whose chords are chosen too and last over
its short notes.`,
		Example: `  partwright voice figured-bass.musicxml
  partwright voice "C: I vi ii6 V7*2 I"
  partwright voice --style keyboard --bass free --alternatives 3 "g: i iv V7 i"
  partwright voice --style keyboard "g: bass G2 F#2/6 G2 A2/#6 Bb2/6 D3/# G2*2"
  partwright voice --ending half "G: soprano B4 C5 A4 B4 A4*4"
  partwright voice --exercise=soprano --out sheets "G: I V6 I IV V7*2 I"
  partwright voice --out sheets --name evening --density 0.5 phrase.rntxt`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("give a progression, such as \"C: I IV V7 I\", a file with one or with a score, or - for standard input")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return f.run(cmd, args) },
	}
	flags := cmd.Flags()
	flags.StringVar(&f.format, "format", "table", "what to print: table, json, ndjson or musicxml")
	flags.StringVar(&f.name, "name", "", "NAME of the files, for one task (default: that of the file, or progression)")
	f.add(flags, "NAME.voicing.json, NAME.voiced.musicxml and NAME.mid")
	f.fields = addRequest(flags, &f.request)
	flags.Lookup("exercise").NoOptDefVal = request.Auto
	return cmd
}

func (f *voiceCommand) run(cmd *cobra.Command, args []string) error {
	if err := f.fields.bind(nil); err != nil {
		return err
	}
	plan, err := f.request.Plan()
	if err != nil {
		return f.fields.inFlags(err)
	}
	texts, paths := tasks(args)
	one := len(args) == 1 && (len(texts) == 1 || oneFile(paths))
	output, err := f.output(cmd.OutOrStdout(), one)
	if err != nil {
		return err
	}
	if f.name != "" && !one {
		return errors.New("--name names the files of one task: leave it out where there are several")
	}
	s, err := openScores(cmd, &f.scoreFlags, paths)
	if err != nil {
		return err
	}
	defer s.close()
	s.inputs.Texts, s.one = true, one
	items := s.items
	s.items = func(yield func(files.Item) bool) {
		for _, text := range texts {
			if !yield(files.Item{Name: text, Place: "progression", Read: func() ([]byte, error) { return []byte(text), nil }}) {
				return
			}
		}
		for item := range items {
			if !yield(item) {
				return
			}
		}
	}
	s.name = f.name
	t, err := s.forEach(cmd.Context(), "voicing", func(ctx context.Context, in worker.Input) (*answer.Answer, error) {
		given := slices.Contains(texts, in.Name)
		if looksLikeScore(in.Data) || !given && isScoreName(in.Name) {
			return ofFile(in.Name, one)(s.pool.Do(ctx, in, plan))
		}
		text := *plan
		text.Progression = string(in.Data)
		if given {
			return s.pool.Do(ctx, worker.Input{}, &text) // the name is the text itself
		}
		return ofFile(in.Name, one)(s.pool.Do(ctx, worker.Input{Name: in.Name}, &text))
	}, output)
	if err != nil {
		return err
	}
	return t.exit(partwriting.Off)
}

// tasks separates texts from paths: what names no file and does not look like the name of
// a score is a text.
func tasks(args []string) (texts, paths []string) {
	for _, arg := range args {
		_, err := os.Stat(arg)
		if arg == "-" || err == nil || isScoreName(arg) {
			paths = append(paths, arg)
		} else {
			texts = append(texts, arg)
		}
	}
	return texts, paths
}

// isScoreName reports whether a name is that of a score.
func isScoreName(name string) bool {
	return slices.Contains([]string{".musicxml", ".xml", ".mxl"}, strings.ToLower(filepath.Ext(name)))
}

// ofFile says of which file an error of the one task is; where there are several, each
// failure says so itself.
func ofFile(name string, one bool) func(*answer.Answer, error) (*answer.Answer, error) {
	return func(a *answer.Answer, err error) (*answer.Answer, error) {
		if one && name != "-" && isRequestError(err) {
			err = fmt.Errorf("%s: %w", name, err)
		}
		return a, err
	}
}

// output prints voicings; of one task alone its report or its score by itself.
func (f *voiceCommand) output(w io.Writer, one bool) (output, error) {
	switch {
	case f.format == "musicxml" && one:
		return scorePrinter{w}, nil
	case f.format == "json" && one:
		return printed(func(r any) error {
			encoder := json.NewEncoder(w)
			encoder.SetIndent("", "  ")
			return encoder.Encode(r)
		}), nil
	case f.format == "musicxml":
		return nil, errors.New("--format musicxml prints one score: name one task, or a folder for them with --out")
	}
	o, err := newDocument(w, f.format, printed(func(r any) error {
		voicing := r.(*report.Voicing)
		switch {
		case f.quiet:
			return nil
		case !one && voicing.File != "":
			fmt.Fprintf(w, "%s\n", voicing.File)
		}
		_, err := fmt.Fprintln(w, voicingTable(voicing, widthOf(w)))
		return err
	}))
	if err != nil {
		return nil, fmt.Errorf("--format %s: say table, json, ndjson or musicxml", f.format)
	}
	return o, nil
}

// scorePrinter prints the score of an answer.
type scorePrinter struct{ w io.Writer }

// Answer prints the score.
func (p scorePrinter) Answer(a *answer.Answer) error {
	_, err := p.w.Write(a.Score().Data)
	return err
}

// Report implements [report.Encoder]: the score is all that is printed.
func (p scorePrinter) Report(any) error { return nil }

// Failure implements [report.Encoder]: the console names it.
func (p scorePrinter) Failure(*report.Failure) error { return nil }

// Close implements [report.Encoder].
func (p scorePrinter) Close() error { return nil }

// looksLikeScore reports whether data is a score and not a text: a container, or a document that begins
// with a tag in any of the encodings that scores come in.
func looksLikeScore(data []byte) bool {
	head := bytes.Trim(data[:min(len(data), 64)], "\x00 \t\r\n\xef\xbb\xbf\xff\xfe")
	return bytes.HasPrefix(head, []byte("PK")) || bytes.HasPrefix(head, []byte("<"))
}
