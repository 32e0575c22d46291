package musicxml

// layerIndex gives numbers to the voice labels of one part, in order of
// appearance.
type layerIndex struct {
	names []string
	// sounding tells which layers have a note other than a rest.
	sounding []bool
	byName   map[string]int16
	last     int16
}

// find returns the number of a label; ok is false where there are too many.
func (l *layerIndex) find(label []byte) (n int16, ok bool) {
	if len(l.names) > 0 && l.names[l.last] == string(label) {
		return l.last, true
	}
	if n, ok := l.byName[string(label)]; ok {
		l.last = n
		return n, true
	}
	if len(l.names) == maxLayers {
		return 0, false
	}
	if l.byName == nil {
		l.byName = make(map[string]int16, 4)
	}
	l.last = int16(len(l.names))
	name := string(label)
	l.byName[name] = l.last
	l.names = append(l.names, name)
	l.sounding = append(l.sounding, false)
	return l.last, true
}
