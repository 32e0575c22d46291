package markup

import "encoding/binary"

// Name is an interned element or attribute name. The names of MusicXML are the
// same in every tree; a name outside the standard gets a number of its own.
type Name uint16

// nameTable gives numbers to the names that a document adds to those of the standard.
type nameTable struct {
	added []string
	index map[string]Name
}

func (n *nameTable) text(name Name) string {
	if int(name) < len(standardNames) {
		return standardNames[name]
	}
	return n.added[int(name)-len(standardNames)]
}

// intern returns the number of a name; ok is false when there are no more
// numbers.
func (n *nameTable) intern(raw []byte) (name Name, ok bool) {
	if k, ok := lookUpStandard(raw); ok {
		return k, true
	}
	if k, ok := n.index[string(raw)]; ok {
		return k, true
	}
	if len(standardNames)+len(n.added) >= maxNames {
		return 0, false
	}
	if n.index == nil {
		n.index = make(map[string]Name)
	}
	k := Name(len(standardNames) + len(n.added))
	n.added = append(n.added, string(raw))
	n.index[n.added[len(n.added)-1]] = k
	return k, true
}

// The standard names lie in an open hash table whose keys are the first and the
// last eight bytes and the length: two comparisons tell nearly all names apart.
const standardBits = 11

type standardSlot struct {
	head, tail uint64
	name       Name
	length     uint16 // 0 for an empty slot
}

var standardSlots = func() (slots [1 << standardBits]standardSlot) {
	for i, s := range standardNames {
		head, tail := nameKey([]byte(s))
		at := nameHash(head, tail, len(s))
		for slots[at].length != 0 {
			at = (at + 1) % len(slots)
		}
		slots[at] = standardSlot{head, tail, Name(i), uint16(len(s))}
	}
	return slots
}()

func lookUpStandard(raw []byte) (name Name, ok bool) {
	head, tail := nameKey(raw)
	for at := nameHash(head, tail, len(raw)); ; at = (at + 1) % len(standardSlots) {
		slot := &standardSlots[at]
		if slot.length == 0 {
			return 0, false
		}
		if slot.head == head && slot.tail == tail && int(slot.length) == len(raw) &&
			(len(raw) <= 16 || standardNames[slot.name] == string(raw)) {
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
	return int((head ^ tail>>1 ^ uint64(length)) * golden >> (64 - standardBits))
}
