package texture

import "strings"

// Beginnings of names of instruments in English, German, French and Italian, as
// parts are named by them (MusicXML 4.0: part-name is free text). "Bass" and
// "tenor" are voices too and are left out.
var (
	guitars = []string{"guitar", "gitar", "guitare", "chitarra", "lute", "laute", "ukulele", "mandol", "banjo"}

	instruments = []string{
		"violin", "violon", "geige", "viola", "bratsche", "alto sax", "cello", "contrabass", "kontrabass", "double bass",
		"flute", "flöte", "flûte", "flauto", "piccolo", "oboe", "hautbois", "clarinet", "klarinette", "bassoon", "fagott", "basson",
		"horn", "corno", "trumpet", "trompete", "tromba", "trombone", "posaune", "tuba", "sax", "recorder", "blockflöte",
		"harp", "harfe", "timpani", "pauken", "euphonium", "cornet",
	}
)

func isGuitar(name string) bool     { return anyWord(name, guitars) }
func isInstrument(name string) bool { return anyWord(name, instruments) }

// anyWord reports whether a word of a name begins with one of the beginnings.
func anyWord(name string, beginnings []string) bool {
	name = " " + strings.ToLower(name)
	for _, b := range beginnings {
		if strings.Contains(name, " "+b) {
			return true
		}
	}
	return false
}
