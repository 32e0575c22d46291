package harmony

import "slices"

// arrival is the best way to one place of a boundary.
type arrival struct {
	score          float32
	entry, segment int32
}

// parcel is a chord and inversion with the first of its places at a boundary.
// It has one place for each reading of the chord and each state of settling.
type parcel struct {
	chord     int16
	inversion int8
	first     int32
}

// arrivals holds what has come to one boundary so far. Only the chords that do
// come have places, so that all of it stays small.
type arrivals struct {
	// places have nothing where nothing was taken, up to the capacity.
	places  []arrival
	parcels []parcel
	// first finds the parcel of 4 × chord + inversion, -1 if there is none.
	first []int32
	// taken are the places where something has arrived.
	taken []int32
	best  float32
	// hoped is the best of the scores with what the glance has heard of the way on.
	hoped float32
}

// reset empties the arrivals and makes room for a number of kinds of parcel.
func (a *arrivals) reset(kinds int) {
	a.first = slices.Grow(a.first[:0], kinds)[:kinds]
	for i := range a.first {
		a.first[i] = -1
	}
	a.clear()
}

// empty takes out what has arrived.
func (a *arrivals) empty() {
	for _, p := range a.parcels {
		a.first[4*int(p.chord)+int(p.inversion)] = -1
	}
	a.clear()
}

func (a *arrivals) clear() {
	for _, place := range a.taken {
		a.places[place].score = absent
	}
	a.places, a.parcels, a.taken, a.best = a.places[:0], a.parcels[:0], a.taken[:0], absent
	a.hoped = absent
}

// open returns the first place of a chord and inversion with this many readings.
func (a *arrivals) open(chord int16, inversion int8, readings int32) int32 {
	kind := 4*int(chord) + int(inversion)
	if a.first[kind] < 0 {
		a.first[kind] = int32(len(a.places))
		a.parcels = append(a.parcels, parcel{chord, inversion, a.first[kind]})
		a.makeRoom(int(readings) * int(settled+1))
	}
	return a.first[kind]
}

// makeRoom adds empty places.
func (a *arrivals) makeRoom(count int) {
	n := len(a.places)
	if n+count > cap(a.places) {
		a.places = slices.Grow(a.places, count)
		whole := a.places[:cap(a.places)]
		for i := range whole[n:] {
			whole[n+i].score = absent
		}
	}
	a.places = a.places[:n+count]
}

// recall finds the first places of parcels again, with nothing in them, and returns how
// many places there are.
func (a *arrivals) recall(parcels []parcel, table *chordTable) int {
	a.empty()
	a.parcels = append(a.parcels, parcels...)
	size := 0
	for _, p := range parcels {
		ch := &table.chords[p.chord]
		a.first[4*int(p.chord)+int(p.inversion)] = p.first
		size = int(p.first) + int(ch.readingsEnd-ch.readings)*int(settled+1)
	}
	return size
}
