package fingerprint

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/scanner"
	"go/token"
	"io/fs"
	"slices"
	"strconv"
	"strings"
)

// Source is a package of Go as its declarations, with the entries of some of its lists
// set apart. What a declaration uses is told by names alone, so rather too much than too
// little.
type Source struct {
	units []unit
	// named are the units that a name may mean: functions, variables, constants and types
	// by their names, methods by a dot and theirs.
	named map[string][]int
	// lists are the names of the variables whose entries are set apart.
	lists map[string]bool
}

// unit is a declaration, or an entry of a list.
type unit struct {
	sum string
	// uses are names as in [Source.named].
	uses []string
	// entry is the ID of an entry, "" for none.
	entry string
}

// Read reads a package. The entries of variables that are slices of pointers to the type
// that is named are set apart; each is a literal with a field ID, a text.
func Read(files fs.FS, listed string) (*Source, error) {
	s := &Source{named: map[string][]int{}, lists: map[string]bool{}}
	err := each(files, ".go", func(name string, text []byte) error {
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, name, text, 0)
		if err != nil {
			return err
		}
		r := &reader{Source: s, text: text, file: set.File(file.FileStart), imports: map[string]string{}, listed: listed}
		for _, i := range file.Imports {
			path, err := strconv.Unquote(i.Path.Value)
			if err != nil {
				return err
			}
			known := path[strings.LastIndexByte(path, '/')+1:]
			if i.Name != nil {
				known = i.Name.Name
			}
			r.imports[known] = path
		}
		for _, d := range file.Decls {
			if err := r.declaration(d); err != nil {
				return err
			}
		}
		return nil
	})
	return s, err
}

// reader reads one file.
type reader struct {
	*Source
	text    []byte
	file    *token.File
	imports map[string]string
	listed  string
}

// called are methods that the standard library calls by itself.
var called = []string{"String", "Error", "Format", "GoString", "MarshalJSON", "UnmarshalJSON", "MarshalText", "UnmarshalText", "Len", "Less", "Swap"}

func (r *reader) declaration(d ast.Decl) error {
	switch d := d.(type) {
	case *ast.FuncDecl:
		if d.Recv == nil {
			r.add("", []string{d.Name.Name}, d)
			return nil
		}
		r.add("", []string{"." + d.Name.Name, receiver(d) + "." + d.Name.Name}, d)
	case *ast.GenDecl:
		switch d.Tok {
		case token.CONST: // one may stand on the one before
			var names []string
			for _, spec := range d.Specs {
				names = append(names, namesOf(spec)...)
			}
			r.add("", names, d)
		case token.VAR, token.TYPE:
			for _, spec := range d.Specs {
				if err := r.spec(spec); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (r *reader) spec(spec ast.Spec) error {
	names := namesOf(spec)
	if list := r.listOf(spec); list != nil {
		return r.list(names[0], list)
	}
	added := r.add("", names, spec)
	if _, isType := spec.(*ast.TypeSpec); isType {
		for _, method := range called {
			added.uses = append(added.uses, names[0]+"."+method)
		}
	}
	return nil
}

// receiver is the name of the type that a method belongs to.
func receiver(d *ast.FuncDecl) string {
	of := d.Recv.List[0].Type
	for {
		switch t := of.(type) {
		case *ast.StarExpr:
			of = t.X
		case *ast.IndexExpr:
			of = t.X
		case *ast.IndexListExpr:
			of = t.X
		case *ast.Ident:
			return t.Name
		default:
			return ""
		}
	}
}

func namesOf(spec ast.Spec) (names []string) {
	switch s := spec.(type) {
	case *ast.ValueSpec:
		for _, n := range s.Names {
			names = append(names, n.Name)
		}
	case *ast.TypeSpec:
		names = []string{s.Name.Name}
	}
	return names
}

// listOf is the value of a variable whose entries are set apart, nil for another.
func (r *reader) listOf(spec ast.Spec) *ast.CompositeLit {
	s, ok := spec.(*ast.ValueSpec)
	if !ok || len(s.Values) != 1 {
		return nil
	}
	list, ok := s.Values[0].(*ast.CompositeLit)
	if !ok {
		return nil
	}
	slice, ok := list.Type.(*ast.ArrayType)
	if !ok || slice.Len != nil {
		return nil
	}
	pointer, ok := slice.Elt.(*ast.StarExpr)
	if !ok {
		return nil
	}
	if to, ok := pointer.X.(*ast.Ident); !ok || to.Name != r.listed {
		return nil
	}
	return list
}

// list adds the entries of a list; its name means all of them.
func (r *reader) list(name string, list *ast.CompositeLit) error {
	r.lists[name] = true
	for _, e := range list.Elts {
		entry, ok := e.(*ast.CompositeLit)
		if !ok {
			return fmt.Errorf("%s: an entry is no literal", name)
		}
		id := ""
		var values []ast.Node
		for _, field := range entry.Elts {
			f, ok := field.(*ast.KeyValueExpr)
			if !ok {
				return fmt.Errorf("%s: an entry has a field without its name", name)
			}
			values = append(values, f.Value)
			text, ok := f.Value.(*ast.BasicLit)
			if key, named := f.Key.(*ast.Ident); ok && named && key.Name == "ID" {
				id, _ = strconv.Unquote(text.Value)
			}
		}
		if id == "" {
			return fmt.Errorf("%s: an entry has no ID", name)
		}
		r.add(id, []string{name}, entry).uses = r.usedIn(values...) // names of fields are none
	}
	return nil
}

// add adds a unit with the names that mean it.
func (r *reader) add(entry string, names []string, node ast.Node) *unit {
	u := unit{entry: entry, uses: r.usedIn(node)}
	text := r.tokens(node)
	// The name of a package means what is imported by it.
	for _, name := range u.uses {
		text = item(text, r.imports[name])
	}
	u.sum = short(text)
	for _, name := range names {
		r.named[name] = append(r.named[name], len(r.units))
	}
	r.units = append(r.units, u)
	return &r.units[len(r.units)-1]
}

// tokens are those of a node, without comments.
func (r *reader) tokens(node ast.Node) (all []byte) {
	text := r.text[r.file.Offset(node.Pos()):r.file.Offset(node.End())]
	all = make([]byte, 0, 2*len(text))
	var in scanner.Scanner
	set := token.NewFileSet()
	in.Init(set.AddFile("", set.Base(), len(text)), text, nil, 0)
	for {
		_, t, literal := in.Scan()
		if t == token.EOF {
			return all
		}
		all = item(append(all, byte(t)), literal)
	}
}

// usedIn lists the names that some nodes of one declaration use, but for those that they
// declare themselves.
func (r *reader) usedIn(nodes ...ast.Node) (uses []string) {
	for _, node := range nodes {
		selected := map[*ast.Ident]bool{}
		ast.Inspect(node, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.SelectorExpr:
				selected[n.Sel] = true
				uses = append(uses, "."+n.Sel.Name)
			case *ast.FuncDecl:
				selected[n.Name] = true // a method may have the name of a function
			case *ast.Field:
				for _, name := range n.Names {
					selected[name] = true // of parameters and fields
				}
			case *ast.Ident:
				if !selected[n] && !isLocal(n, node) {
					uses = append(uses, n.Name)
				}
			}
			return true
		})
	}
	slices.Sort(uses)
	return slices.Compact(uses)
}

// isLocal tells a name that is declared inside a node, as the parser finds it: it knows
// blocks, which is all that is needed here.
func isLocal(name *ast.Ident, in ast.Node) bool {
	// go/types would need all packages that are imported.
	declared := name.Obj
	return declared != nil && declared.Kind != ast.Fun && in.Pos() < declared.Pos() && declared.Pos() < in.End()
}

// Entries returns the fingerprint of every entry with all that it uses, by its ID.
func (s *Source) Entries() map[string]string {
	all := map[string]string{}
	for i := range s.units {
		if id := s.units[i].entry; id != "" {
			all[id] = s.fingerprint(s.reached(false, i))
		}
	}
	return all
}

// Rest returns the fingerprint of the package without what is used by entries alone.
func (s *Source) Rest() string {
	var entries, others []int
	for i := range s.units {
		if s.units[i].entry != "" {
			entries = append(entries, i)
		}
	}
	theirs := s.reached(false, entries...)
	for i := range s.units {
		if !theirs[i] {
			others = append(others, i)
		}
	}
	return s.fingerprint(s.reached(true, others...))
}

// reached are the units that some use, directly or not, and these. Lists are passed over
// where the entries are not asked for.
func (s *Source) reached(withoutLists bool, from ...int) map[int]bool {
	reached := map[int]bool{}
	for len(from) > 0 {
		i := from[len(from)-1]
		from = from[:len(from)-1]
		if reached[i] {
			continue
		}
		reached[i] = true
		for _, name := range s.units[i].uses {
			if withoutLists && s.lists[name] {
				continue
			}
			from = append(from, s.named[name]...)
		}
	}
	return reached
}

func (s *Source) fingerprint(of map[int]bool) string {
	var sums []string
	for i := range of {
		sums = append(sums, s.units[i].sum)
	}
	slices.Sort(sums)
	return Join(sums...)
}
