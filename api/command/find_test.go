package command

import (
	"slices"
	"testing"

	"github.com/getkin/kin-openapi/openapi3"

	"partwright/worker/store"
)

// What a service can be asked for, find can be asked for in the same words: every parameter
// of the contract is a flag, with the same values.
func TestFindIsAskedAsTheServiceIs(t *testing.T) {
	contract, err := openapi3.NewLoader().LoadFromFile("../openapi.yaml")
	if err != nil {
		t.Fatal(err)
	}
	flags := newFind().Flags()
	for _, kind := range foundKinds {
		asked := 0
		for _, p := range contract.Paths.Find("/v1/" + kind).Get.Parameters {
			name := p.Value.Name
			if name == "after" { // find has no pages
				continue
			}
			if flags.Lookup(flagOf(name)) == nil {
				t.Errorf("/v1/%s is asked by %s, find has no such flag", kind, name)
			}
			if !slices.Contains(store.FindBy(kind), name) {
				continue
			}
			asked++
			var values []string
			for _, v := range p.Value.Schema.Value.Enum {
				values = append(values, v.(string))
			}
			if have := foundValues()[name]; values != nil && !slices.Equal(have, values) {
				t.Errorf("%s of /v1/%s is one of %v, that of find of %v", name, kind, values, have)
			}
		}
		if asked < 4 {
			t.Errorf("/v1/%s is asked by %d columns only", kind, asked)
		}
	}
	for _, name := range foundColumns() {
		if foundHelp[name] == "" {
			t.Errorf("--%s has no help", flagOf(name))
		}
	}
}
