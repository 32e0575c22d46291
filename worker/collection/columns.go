package collection

import (
	"reflect"
	"strings"
)

// Column describes one column.
type Column struct {
	Name string `json:"name"`
	// Type is text, integer, number or truth.
	Type string `json:"type"`
	// About says what it holds.
	About string `json:"about"`
}

// description is a table that can be described.
type description interface{ describe() TableInfo }

func (t *table[Row]) describe() TableInfo {
	return TableInfo{t.name, t.rows, columnsOf(reflect.TypeFor[Row]())}
}

// Describe lists the columns of every table.
func Describe() []TableInfo {
	return Open(Origin{}, nil).Manifest().Tables
}

// columnsOf reads the tags of a row.
func columnsOf(row reflect.Type) []Column {
	var columns []Column
	for f := range row.Fields() {
		if f.Anonymous {
			columns = append(columns, columnsOf(f.Type)...)
			continue
		}
		name, _, _ := strings.Cut(f.Tag.Get("parquet"), ",")
		columns = append(columns, Column{name, typeName(f.Type), f.Tag.Get("about")})
	}
	return columns
}

func typeName(t reflect.Type) string {
	if t.Kind() == reflect.Pointer { // there may be none
		t = t.Elem()
	}
	switch t.Kind() {
	case reflect.Bool:
		return "truth"
	case reflect.Float64:
		return "number"
	case reflect.String:
		return "text"
	}
	return "integer"
}
