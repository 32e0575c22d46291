package classroom

import (
	"embed"
	"encoding/json"
	"fmt"
	"strings"

	"partwright/theory/partwriting"
)

//go:embed words
var wordFiles embed.FS

// words are sentences of one language by name; {name} stands for a value.
type words struct {
	*partwriting.Catalog
	said map[string]string
}

// languages are read once.
var languages = func() map[string]map[string]string {
	all := map[string]map[string]string{}
	for _, tag := range partwriting.Languages() {
		text, err := wordFiles.ReadFile("words/" + tag + ".json")
		if err != nil {
			panic("classroom: there are no words in a language of the catalogs: " + err.Error())
		}
		said := map[string]string{}
		if err := json.Unmarshal(text, &said); err != nil {
			panic("classroom: words/" + tag + ".json: " + err.Error())
		}
		all[tag] = said
	}
	return all
}()

func wordsOf(language string) (*words, error) {
	catalog, ok := partwriting.CatalogFor(language)
	if !ok {
		return nil, fmt.Errorf("there are no sentences in %.64q; say one of %s", language, strings.Join(partwriting.Languages(), ", "))
	}
	return &words{catalog, languages[catalog.Language]}, nil
}

// say is a sentence with its values, in pairs of name and value.
func (w *words) say(name string, pairs ...any) string {
	var replace []string
	for i := 0; i+1 < len(pairs); i += 2 {
		replace = append(replace, "{"+fmt.Sprint(pairs[i])+"}", fmt.Sprint(pairs[i+1]))
	}
	return strings.NewReplacer(replace...).Replace(w.said[name])
}
