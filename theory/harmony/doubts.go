package harmony

// maxRivals is how many readings beside the analysis's own are kept of a place: more
// are hardly ever plausible.
const maxRivals = 4

// rival is a reading that some way through the piece has at a frame, with the score
// of the best such way.
type rival struct {
	score      float32
	key, state int16
}

// doubt is what else may be heard in a frame. Rivals come best first; key is -1 where
// there is none.
type doubt struct {
	// key and state are the reading of the best path, which is no rival of itself.
	key, state int16
	rivals     [maxRivals]rival
}

// askAll prepares the doubts of all frames.
func (b *backward) askAll(path []choice) {
	b.doubts = b.doubts[:0]
	for _, c := range path {
		d := doubt{key: int16(c.key), state: int16(c.state)}
		for i := range d.rivals {
			d.rivals[i] = rival{absent, -1, -1}
		}
		for f := c.segment.start; f < c.segment.end; f++ {
			b.doubts = append(b.doubts, d)
		}
	}
}

// addRival takes note of a way through the piece that goes from an entry along a
// segment, at the frames it covers.
func (b *backward) addRival(seg *segment, in *entry, total float32) {
	for f := seg.start; f < seg.end; f++ {
		d := &b.doubts[f]
		if total > d.rivals[maxRivals-1].score && (d.key != in.key || d.state != in.state) {
			d.add(rival{total, in.key, in.state})
		}
	}
}

// add puts a rival in its place; of equals the one that was there stays before.
func (d *doubt) add(r rival) {
	at := len(d.rivals) - 1
	for i := range d.rivals {
		if d.rivals[i].key == r.key && d.rivals[i].state == r.state {
			at = i
			break
		}
	}
	if d.rivals[at].score >= r.score {
		return
	}
	for ; at > 0 && d.rivals[at-1].score < r.score; at-- {
		d.rivals[at] = d.rivals[at-1]
	}
	d.rivals[at] = r
}
