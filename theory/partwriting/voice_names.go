package partwriting

import (
	"strconv"
	"strings"

	"partwright/theory"
)

// fewVoices have names or numbers that a reader keeps apart; more are named by their
// parts.
const fewVoices = 4

// voiceIn names a voice of a score: in more than four voices by its part, with a
// number where the part has several.
func (c *Catalog) voiceIn(t *theory.Texture, v int) string {
	voice := &t.Voices[v]
	part := partName(t, voice)
	if len(t.Voices) <= fewVoices || part == "" {
		return c.voice(voice.Name)
	}
	rank, of := 0, 0
	for i := range t.Voices {
		if partName(t, &t.Voices[i]) == part {
			of++
			if i <= v {
				rank++
			}
		}
	}
	if of > 1 {
		return part + " (" + strconv.Itoa(rank) + ")"
	}
	return part
}

func partName(t *theory.Texture, v *theory.Voice) string {
	if v.Part < 0 || v.Part >= len(t.Score.Parts) {
		return ""
	}
	return strings.Join(strings.Fields(t.Score.Parts[v.Part].Name), " ")
}

// voiceNamed names the voice of that name.
func (c *Catalog) voiceNamed(t *theory.Texture, name string) string {
	for v := range t.Voices {
		if t.Voices[v].Name == name {
			return c.voiceIn(t, v)
		}
	}
	return c.voice(name)
}
