package musicxml

// layerIndex gives numbers to the voice labels of one part, in order of
// appearance.
type layerIndex struct {
	names []string
	// sounding tells which layers have a note other than a rest.
	sounding []bool
	byName   map[string]int16
	last     int16
	spans    []layerSpan
}

// layerSpan is where a layer is written: its first and last measure and how many
// measures it is in.
type layerSpan struct{ first, last, measures int32 }

// enter notes that the layer found last is written in a measure.
func (l *layerIndex) enter(measure int32) {
	if s := &l.spans[l.last]; s.last != measure {
		s.last = measure
		s.measures++
	}
}

// find returns the number of a label; ok is false where there are too many.
func (l *layerIndex) find(label []byte, measure int32) (n int16, ok bool) {
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
	l.spans = append(l.spans, layerSpan{measure, measure, 1})
	return l.last, true
}
