package main

import (
	"maps"
	"slices"
	"testing"

	"partwright/theory/harmony"
)

// modalTunes are the chorales of the collection (Riemenschneider's numbers) whose tunes
// hymnology counts to a church mode; from memory. Phrygian: Herzlich tut mich verlangen,
// Christus der uns selig macht, Gott hat das Evangelium, Herr Gott dich loben wir, Ach
// Gott vom Himmel sieh darein. Mixolydian: Dies sind die heilgen zehn Gebot, Komm Gott
// Schöpfer. Dorian: Mit Fried und Freud, Wir glauben all, Nun freut euch Gottes Kinder
// all. 241 is not known to us as modal.
var modalTunes = map[string]string{
	"021": "phrygian", "081": "phrygian", "089": "phrygian", "181": "phrygian", "205": "phrygian",
	"253": "phrygian", "307": "phrygian", "345": "phrygian", "367": "phrygian",
	"127": "mixolydian", "187": "mixolydian",
	"049": "dorian", "133": "dorian", "185": "dorian", "241": "dorian", "325": "dorian",
}

// TestModalChorales: what is called modal among 186 chorales are tunes that are.
func TestModalChorales(t *testing.T) {
	got := map[string]string{}
	for name, texture := range chorales(t, "chorales-open") {
		for _, d := range harmony.Analyze(texture).Devices() {
			if d.Kind == harmony.ModalFinal {
				got[name] = d.Name
			}
		}
	}
	for _, name := range slices.Sorted(maps.Keys(got)) {
		if modalTunes[name] != got[name] {
			t.Errorf("chorale %s is called %s, want %q", name, got[name], modalTunes[name])
		}
	}
	for _, name := range slices.Sorted(maps.Keys(modalTunes)) {
		if got[name] == "" {
			t.Errorf("chorale %s is not called %s", name, modalTunes[name])
		}
	}
}
