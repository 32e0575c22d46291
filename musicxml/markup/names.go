package markup

import "encoding/binary"

// Name is an interned element or attribute name. The names below are the same
// in every tree; any other name that a document uses gets a number of its own.
type Name uint16

// nameTable gives numbers to the names that a document adds to the known ones.
type nameTable struct {
	added []string
	index map[string]Name
}

func (n *nameTable) text(name Name) string {
	if int(name) < len(knownNames) {
		return knownNames[name]
	}
	return n.added[int(name)-len(knownNames)]
}

// intern returns the number of a name; ok is false when there are no more
// numbers.
func (n *nameTable) intern(raw []byte) (name Name, ok bool) {
	if k, ok := lookUpKnown(raw); ok {
		return k, true
	}
	if k, ok := n.index[string(raw)]; ok {
		return k, true
	}
	if len(knownNames)+len(n.added) >= maxNames {
		return 0, false
	}
	if n.index == nil {
		n.index = make(map[string]Name)
	}
	k := Name(len(knownNames) + len(n.added))
	n.added = append(n.added, string(raw))
	n.index[n.added[len(n.added)-1]] = k
	return k, true
}

// The known names lie in an open hash table whose keys are the first and the
// last eight bytes and the length: two comparisons tell nearly all names apart.
const knownBits = 10

type knownSlot struct {
	head, tail uint64
	name       Name
	length     uint16 // 0 for an empty slot
}

var knownSlots = func() (slots [1 << knownBits]knownSlot) {
	for i, s := range knownNames {
		head, tail := nameKey([]byte(s))
		at := nameHash(head, tail, len(s))
		for slots[at].length != 0 {
			at = (at + 1) % len(slots)
		}
		slots[at] = knownSlot{head, tail, Name(i), uint16(len(s))}
	}
	return slots
}()

func lookUpKnown(raw []byte) (name Name, ok bool) {
	head, tail := nameKey(raw)
	for at := nameHash(head, tail, len(raw)); ; at = (at + 1) % len(knownSlots) {
		slot := &knownSlots[at]
		if slot.length == 0 {
			return 0, false
		}
		if slot.head == head && slot.tail == tail && int(slot.length) == len(raw) &&
			(len(raw) <= 16 || knownNames[slot.name] == string(raw)) {
			return slot.name, true
		}
	}
}

func nameKey(raw []byte) (head, tail uint64) {
	if len(raw) >= 8 {
		return binary.LittleEndian.Uint64(raw), binary.LittleEndian.Uint64(raw[len(raw)-8:])
	}
	for i := len(raw) - 1; i >= 0; i-- {
		head = head<<8 | uint64(raw[i])
	}
	return head, 0
}

func nameHash(head, tail uint64, length int) int {
	const golden = 0x9E3779B97F4A7C15 // 2^64 divided by the golden ratio (Knuth, TAOCP 3, 6.4)
	return int((head ^ tail>>1 ^ uint64(length)) * golden >> (64 - knownBits))
}
