package separation

// line is one voice of a staff while it is being found.
type line struct {
	// tones index the staff's tones, in order of onset.
	tones []int32
	// extra is set for a line that exists only where the staff divides.
	extra bool
	// shared counts the tones written for another line and sung by this one too.
	shared int
}

// lines tells the voices of a staff apart, once they are counted. It returns the staff's own voices
// from the top, extra ones after them.
func (st *staff) lines() []line {
	if st.voices == len(st.lanes) && !st.lanesOverlap() {
		for i := range st.tones {
			st.tones[i].voice = st.tones[i].lane
		}
		st.clean = true
	} else {
		newRanking(st).run()
	}
	lines := st.collect()
	st.shareUnisons(lines)
	return lines
}

// maxStaffVoices is the most voices that are told apart on one staff; notes
// beyond them are extra.
const maxStaffVoices = 16

// countVoices sets how many voices the staff holds: as many as sound together
// for at least half of the time in which it sounds at all, and no fewer than the
// layers that sound for a quarter of it.
func (st *staff) countVoices() {
	var time [maxStaffVoices + 1]int64
	var total int64
	st.sweep(func(_, _ int, sounding []int32, until int64) {
		length := until - st.tones[sounding[len(sounding)-1]].onset
		time[min(len(sounding), maxStaffVoices)] += length
		total += length
	})
	voices, atLeast := maxStaffVoices, time[maxStaffVoices]
	for voices > 1 && 2*atLeast < total {
		voices--
		atLeast += time[voices]
	}
	layers := 0
	for i := range st.lanes {
		st.lanes[i].main = 4*st.lanes[i].time >= total
		if st.lanes[i].main {
			layers++
		}
	}
	st.voices = min(max(voices, layers), maxStaffVoices)
	st.layered = st.voices == layers
}

// sweep calls visit at each onset with the tones from and to that begin there,
// the indexes of all tones that sound, the new ones last, and when that changes:
// at the next onset or when all has ended.
func (st *staff) sweep(visit func(from, to int, sounding []int32, until int64)) {
	var buffer [maxStaffVoices]int32
	sounding := buffer[:0]
	for from := 0; from < len(st.tones); {
		onset := st.tones[from].onset
		kept := sounding[:0]
		for _, i := range sounding {
			if st.tones[i].end > onset {
				kept = append(kept, i)
			}
		}
		sounding = kept
		to := from
		for to < len(st.tones) && st.tones[to].onset == onset {
			sounding = append(sounding, int32(to))
			to++
		}
		until := st.tones[sounding[0]].end
		for _, i := range sounding {
			until = max(until, st.tones[i].end)
		}
		if to < len(st.tones) {
			until = min(until, st.tones[to].onset)
		}
		st.work.Step(len(sounding))
		visit(from, to, sounding, until)
		from = to
	}
}

// lanesOverlap reports whether a lane ever has two tones at once.
func (st *staff) lanesOverlap() bool {
	var buffer [maxStaffVoices]int64
	ends := buffer[:len(st.lanes)] // no more lanes than voices here
	for i := range st.tones {
		t := &st.tones[i]
		if t.onset < ends[t.lane] {
			return true
		}
		ends[t.lane] = t.end
	}
	return false
}

// collect gathers each voice's tones, and those that found no voice in as few
// extra lines as hold them.
func (st *staff) collect() []line {
	lines := make([]line, st.voices, st.voices+1)
	counts := make([]int, st.voices)
	for i := range st.tones {
		if v := st.tones[i].voice; v >= 0 {
			counts[v]++
		}
	}
	backing := make([]int32, len(st.tones))
	for v, n := range counts {
		lines[v].tones, backing = backing[:0:n], backing[n:]
	}
	for i := range st.tones {
		v := int(st.tones[i].voice)
		if v < 0 {
			v = st.extraLine(lines, &st.tones[i])
			if v == len(lines) {
				lines = append(lines, line{extra: true})
			}
		}
		lines[v].tones = append(lines[v].tones, int32(i))
	}
	return lines
}

// extraLine returns the extra line that is free at the tone's onset and left off
// nearest to it, or len(lines) for a new one.
func (st *staff) extraLine(lines []line, t *tone) int {
	best, nearest := len(lines), 0
	st.work.Step(len(lines))
	for v := st.voices; v < len(lines); v++ {
		last := &st.tones[lines[v].tones[len(lines[v].tones)-1]]
		if last.end > t.onset {
			continue
		}
		if d := distance(last.height, t.height); best == len(lines) || d < nearest {
			best, nearest = v, d
		}
	}
	return best
}

func distance(a, b int16) int { return max(int(a)-int(b), int(b)-int(a)) }
