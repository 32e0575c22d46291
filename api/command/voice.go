package command

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"partwright/musicxml"
	"partwright/theory/voicing"
	"partwright/worker"
	"partwright/worker/files"
	"partwright/worker/report"
)

// voiceFlags are the settings of partwright voice.
type voiceFlags struct {
	request worker.VoiceRequest
	format  string
	out     string
	name    string
	rules   string
	limits  musicxml.Limits
}

func newVoice() *cobra.Command {
	var f voiceFlags
	cmd := &cobra.Command{
		Use:   "voice [flags] TASK",
		Short: "Voice a progression, a bass or a melody: give chords their notes",
		Long: `Voice leads the voices through a progression: common tones kept, the rest by the
smallest step, nothing that the rules forbid, the cheapest phrase of all.

What is voiced is a text, the name of a file, or - for standard input. A score
(.musicxml, .xml, .mxl) gives block chords, a bass line with figures, a melody with
or without chords named beside it, or both outer voices. A text is a
row of chords after a key: numerals in RomanText spelling or chord symbols, a
beat each or *N beats, || at the end of a phrase. A text with measures (m1 I b3 V)
is read as RomanText. Notes in braces are given, from the top voice down, as in
V7{D5,-,F4}. After the word bass come bass notes with figures (F#2/6), after the
word soprano the notes of a melody whose chords are chosen too.`,
		Example: `  partwright voice figured-bass.musicxml
  partwright voice "C: I vi ii6 V7*2 I"
  partwright voice --style keyboard --bass free --alternatives 3 "g: i iv V7 i"
  partwright voice --style keyboard "g: bass G2 F#2/6 G2 A2/#6 Bb2/6 D3/# G2*2"
  partwright voice --ending half "G: soprano B4 C5 A4 B4 A4*4"
  partwright voice --exercise=soprano --out sheets "G: I V6 I IV V7*2 I"
  partwright voice --out sheets --name evening --density 0.5 phrase.rntxt`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return errors.New("give one progression, such as \"C: I IV V7 I\", a file with one or with a score, or - for standard input")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return voiceOne(cmd, &f, args[0]) },
	}
	flags, r := cmd.Flags(), &f.request
	flags.StringVar(&r.Style, "style", "chorale", "texture: "+strings.Join(worker.VoicingStyles(), ", "))
	flags.StringVar(&r.Bass, "bass", "given", "given (inversions as written), roots, or free (as the line wants)")
	flags.StringVar(&r.Gives, "gives", "", "what a score gives: "+strings.Join(worker.ScoresGive(), ", "))
	flags.StringVar(&r.Key, "key", "", "key in which a score's chords are counted, such as g or Bb (default: those of its signatures)")
	flags.StringVar(&r.Ending, "ending", "given", "how it closes: "+strings.Join(voicing.EndingNames(), ", "))
	flags.BoolVar(&r.SixFour, "six-four", false, "put a cadential six-four before the last dominant")
	flags.IntVar(&r.Alternatives, "alternatives", 1, "how many voicings")
	flags.Float64Var(&r.Density, "density", 0, "how florid: 0 plain to 1")
	flags.Uint64Var(&r.Seed, "seed", 1, "seed of the decorations")
	flags.StringVar(&r.Layout, "layout", "", "open, closed or keyboard staves")
	flags.StringVar(&r.Title, "title", "", "title of the sheet")
	flags.StringVar(&r.Exercise, "exercise", "", "an exercise as well, which shows one given line and its figures or numerals: "+strings.Join(worker.ExerciseVoices(), ", "))
	flags.Lookup("exercise").NoOptDefVal = "auto"
	flags.StringVar(&r.Annotate, "annotate", "auto", "what the sheets say about chords, with commas between several: "+strings.Join(worker.SheetAnnotations(), ", "))
	flags.BoolVar(&r.Compare, "compare", false, "write all alternatives on one sheet with their reasons, NAME.compared.musicxml (with --out)")
	flags.BoolVar(&r.Reasons, "reasons", false, "mark in each sheet why the voices go where they go")
	flags.IntVar(&r.Levels, "levels", 0, "write so many sheets from plain to florid, NAME.level-1.musicxml and so on (with --out)")
	flags.StringVar(&f.rules, "rules", "", "rule set that judges the result (default: that of the style)")
	flags.StringVar(&f.format, "format", "table", "what to print: table, json or musicxml")
	flags.StringVar(&f.out, "out", "", "folder to write NAME.voicing.json, NAME.voiced.musicxml and NAME.mid to")
	flags.StringVar(&f.name, "name", "", "NAME of the files (default: that of the file, or progression)")
	addLimits(flags, &f.limits)
	return cmd
}

func voiceOne(cmd *cobra.Command, f *voiceFlags, argument string) error {
	err := f.read(cmd, argument)
	if err != nil {
		return err
	}
	if f.rules != "" {
		if f.request.RuleSet, err = ruleSet(f.rules); err != nil {
			return err
		}
	}
	engine := &worker.Engine{Version: cmd.Root().Version, Limits: f.limits}
	result, err := engine.Voice(cmd.Context(), f.request)
	var input *musicxml.InputError
	if errors.As(err, &input) {
		return &status{code: exitUnreadable, err: err}
	}
	if err != nil {
		return err
	}
	if f.out != "" {
		if err := writeVoicings(f, result); err != nil {
			return err
		}
	}
	switch f.format {
	case "json":
		encoder := json.NewEncoder(cmd.OutOrStdout())
		encoder.SetIndent("", "  ")
		return encoder.Encode(result.Report)
	case "musicxml":
		_, err := cmd.OutOrStdout().Write(result.Sheet())
		return err
	case "table":
		_, err := fmt.Fprintln(cmd.OutOrStdout(), voicingTable(result.Report, widthOf(cmd.OutOrStdout())))
		return err
	}
	return fmt.Errorf("--format %s: say table, json or musicxml", f.format)
}

// read takes the argument for a progression unless it names a file or is "-";
// what looks like a score is one.
func (f *voiceFlags) read(cmd *cobra.Command, argument string) error {
	var data []byte
	var err error
	switch info, statErr := os.Stat(argument); {
	case argument == "-":
		data, err = io.ReadAll(io.LimitReader(cmd.InOrStdin(), maxScoreFile))
	case statErr == nil && info.Mode().IsRegular():
		data, err = readBounded(argument)
	case slices.Contains([]string{".musicxml", ".xml", ".mxl"}, filepath.Ext(argument)):
		return &status{code: exitUnreadable, err: statErr}
	default:
		data = []byte(argument)
	}
	if err != nil {
		return err
	}
	if looksLikeScore(data) {
		f.request.Score = &worker.Input{Name: argument, Data: data}
		if f.name == "" {
			f.name = strings.TrimSuffix(filepath.Base(argument), filepath.Ext(argument))
		}
	} else {
		f.request.Progression = string(data)
	}
	if f.name == "" {
		f.name = "progression"
	}
	return nil
}

// looksLikeScore tells a score from a text: a container, or a document that begins
// with a tag in any of the encodings that scores come in.
func looksLikeScore(data []byte) bool {
	head := bytes.Trim(data[:min(len(data), 64)], "\x00 \t\r\n\xef\xbb\xbf\xff\xfe")
	return bytes.HasPrefix(head, []byte("PK")) || bytes.HasPrefix(head, []byte("<"))
}

func writeVoicings(f *voiceFlags, result *worker.VoiceResult) error {
	dir, err := files.OpenOutDir(f.out)
	if err != nil {
		return err
	}
	defer func() { _ = dir.Close() }()
	answer, err := json.MarshalIndent(result.Report, "", "  ")
	if err != nil {
		return err
	}
	if err := dir.Write(f.name+".voicing.json", append(answer, '\n')); err != nil {
		return err
	}
	if result.Exercise != nil {
		if err := dir.Write(f.name+".exercise.musicxml", result.Exercise); err != nil {
			return err
		}
	}
	if result.Compared != nil {
		if err := dir.Write(f.name+".compared.musicxml", result.Compared); err != nil {
			return err
		}
	}
	for i, data := range result.Levels {
		if err := dir.Write(fmt.Sprintf("%s.level-%d.musicxml", f.name, i+1), data); err != nil {
			return err
		}
	}
	for i, data := range result.Sheets {
		name := f.name
		if i > 0 {
			name = fmt.Sprintf("%s-%d", f.name, i+1)
		}
		midi, err := report.MIDI(result.Textures[i])
		if err != nil {
			return err
		}
		if err := dir.Write(name+".voiced.musicxml", data); err != nil {
			return err
		}
		if err := dir.Write(name+".mid", midi); err != nil {
			return err
		}
	}
	return nil
}
