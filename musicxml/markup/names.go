package markup

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
	if k, ok := knownIndex[string(raw)]; ok {
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

var knownIndex = func() map[string]Name {
	index := make(map[string]Name, len(knownNames))
	for i, s := range knownNames {
		index[s] = Name(i)
	}
	return index
}()
