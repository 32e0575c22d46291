package archive

import (
	"fmt"
	"path"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/encoding/charmap"
)

const (
	// maxPart leaves room below the 255 bytes of most file systems for what
	// is written beside a score and named after it.
	maxPart = 180
	// maxDepth is how many folders of a path are kept, the last ones.
	maxDepth = 16
)

// paths makes the names of one archive safe and keeps them apart.
type paths struct{ used map[string]bool }

// safe returns a relative path with slashes that is like the name, and what was
// changed.
func (p *paths) safe(name string) (safe, note string) {
	decoded := decodeName(name)
	parts, outside := split(decoded)
	shortened := len(parts) > maxDepth
	if shortened {
		parts = parts[len(parts)-maxDepth:]
	}
	for i, part := range parts {
		parts[i] = shorten(clean(part))
		shortened = shortened || len(clean(part)) > maxPart
	}
	safe = strings.Join(parts, "/")
	var notes []string
	switch {
	case outside:
		notes = append(notes, "the path in the archive leads out of it")
	case shortened:
		notes = append(notes, "the name was shortened")
	case clean(decoded) != decoded:
		notes = append(notes, "control characters in the name were replaced")
	}
	if unique := p.unique(safe); unique != safe {
		safe = unique
		notes = append(notes, "another file has the same name")
	}
	return safe, strings.Join(notes, "; ")
}

// unique counts up names that would be the same file, also where the file system
// does not tell capitals.
func (p *paths) unique(name string) string {
	if p.used == nil {
		p.used = map[string]bool{}
	}
	candidate := name
	for n := 2; p.used[strings.ToLower(candidate)]; n++ {
		extension := path.Ext(name)
		candidate = fmt.Sprintf("%s (%d)%s", strings.TrimSuffix(name, extension), n, extension)
	}
	p.used[strings.ToLower(candidate)] = true
	return candidate
}

// split cuts a path into its parts and drops what would lead elsewhere: roots,
// drive letters, upward steps.
func split(name string) (parts []string, outside bool) {
	name = strings.ReplaceAll(name, `\`, "/")
	outside = strings.HasPrefix(name, "/")
	for _, part := range strings.Split(name, "/") {
		switch {
		case part == "" || part == ".":
		case part == "..":
			outside = true
		case len(parts) == 0 && len(part) == 2 && part[1] == ':':
			outside = true
		default:
			parts = append(parts, part)
		}
	}
	if len(parts) == 0 {
		parts = []string{"unnamed"}
	}
	return parts, outside
}

// clean replaces characters that break lines, logs and terminals, or turn the
// direction of writing around.
func clean(s string) string {
	return strings.Map(func(c rune) rune {
		switch {
		case unicode.IsControl(c), c == '\u2028', c == '\u2029', c == '\uFEFF', c == utf8.RuneError,
			c >= '\u202A' && c <= '\u202E', c >= '\u2066' && c <= '\u2069':
			return '_'
		}
		return c
	}, s)
}

// shorten cuts the middle of a part that is too long, keeping the extension.
func shorten(part string) string {
	if len(part) <= maxPart {
		return part
	}
	extension := path.Ext(part)
	if len(extension) > 20 {
		extension = ""
	}
	cut := maxPart - len(extension)
	for !utf8.RuneStart(part[cut]) {
		cut--
	}
	return part[:cut] + extension
}

// decodeName reads a name that may be older than the flag for UTF-8 in zip
// files: in code page 437, as the format says (APPNOTE.TXT, appendix D), or in
// Latin-1, as many programs wrote. The reading with more letters wins.
func decodeName(name string) string {
	if utf8.ValidString(name) {
		return name
	}
	best, most := "", -1
	for _, page := range []*charmap.Charmap{charmap.Windows1252, charmap.CodePage437} {
		s, err := page.NewDecoder().String(name)
		if err != nil {
			continue
		}
		letters := 0
		for _, c := range s {
			if c >= utf8.RuneSelf && unicode.In(c, unicode.Latin) && unicode.IsLetter(c) {
				letters++
			}
		}
		if letters > most {
			best, most = s, letters
		}
	}
	return best
}
