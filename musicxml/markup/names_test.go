package markup

import (
	"strings"
	"testing"
)

func TestStandardNames(t *testing.T) {
	seen := map[string]bool{}
	for i, s := range standardNames {
		if s == "" || seen[s] {
			t.Errorf("name %d is empty or there twice: %q", i, s)
		}
		seen[s] = true
		if name, ok := lookUpStandard([]byte(s)); !ok || name != Name(i) {
			t.Errorf("%q has number %d, want %d", s, name, i)
		}
		for _, other := range []string{s + "x", s[1:], "x" + s, strings.ToUpper(s)} {
			if name, ok := lookUpStandard([]byte(other)); ok && standardNames[name] != other {
				t.Errorf("%q is taken for %q", other, standardNames[name])
			}
		}
	}
}

func TestOtherNames(t *testing.T) {
	var table nameTable
	first, _ := table.intern([]byte("ornamentation"))
	second, _ := table.intern([]byte("embellishment"))
	again, ok := table.intern([]byte("ornamentation"))
	if !ok || first == second || first != again || table.text(second) != "embellishment" {
		t.Errorf("%d, %d, %d", first, second, again)
	}
}
