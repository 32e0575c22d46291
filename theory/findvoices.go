package theory

// FindVoices finds the voices of a score.
func FindVoices(s *Score) *Texture {
	return NewTexture(s, NoVoices, "nothing was looked at", nil)
}
