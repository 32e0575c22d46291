package partwriting_test

// keyboardExamples are judged by the keyboard set.
var keyboardExamples = []example{
	{omt + "keyboard-style schemata", "G: V7 D3 A4 C5 F#5 | I G2 B4 D5 G5 ||", []string{"seventh-unresolved A 2"}, "the alto's seventh rises"},
	{omt + "keyboard-style schemata", "G: V7 D3 A4 C5 F#5 | I G2 G4 B4 G5 ||", nil, "the seventh falls"},
	{omt + "keyboard-style schemata", "G: V7 D3 C5 D5 F#5 | I G2 B4 D5 G5 ||", nil, "the incomplete seventh chord"},
	{omt + "basso continuo figure", "g: i G2 G4 Bb4 D5 | V6 F#2 A4 A4 D5 | i G2 G4 Bb4 D5 | viio6 A2 F#4 A4 C5 / i6 Bb2 D4 G4 Bb4 | V D3 D4 F#4 A4 | i G3 D4 G4 Bb4 | v6 F3 D4 A4 A4 / iv6 Eb3 C4 G4 C5 | iv C3 Eb4 G4 C5 | V D3 D4 F#4 A4 | V7 D3 C4 F#4 A4 / i G3 Bb3 D4 G4 ||", []string{"parallel-fifths AT 9"}, "keyboard style"},
	{omt + "keyboard exercises", "b: i B3 F#4 B4 D5 | iv6 G3 G4 B4 E5 | i6 D3 F#4 B4 F#5 | V43 C#3 F#4 A#4 E5 / i B2 F#4 B4 D5 | V7 F#3 E4 A#4 C#5 | i B2 D4 F#4 B4 ||", nil, "iv6 doubles its bass; the inner leading tone falls at the end"},
	{omt + "keyboard exercises", "Bb: I Bb2 F4 Bb4 D5 | V42 Eb3 F4 A4 C5 | I6 D3 F4 Bb4 Bb4 | IV6 G3 Eb4 Eb4 Bb4 / Cad64 F3 D4 F4 Bb4 | V7 F2 C4 Eb4 A4 | I Bb2 Bb3 D4 Bb4 ||", nil, "keyboard style"},
	{omt + "keyboard exercises", "C: I C4 E4 G4 C5 | V6 B3 D4 G4 D5 | V43/V A3 D4 F#4 C5 | V G3 D4 G4 B4 / ii65 F3 D4 A4 C5 | V G3 D4 G4 B4 | I C3 E4 G4 C5 ||", nil, "the bass descends by step"},
	{omt + "compound cadences", "C: Cad64 G3 G4 C5 E5 | V7 G2 F4 B4 D5 | I C3 E4 G4 C5 ||", nil, "cadential six-four"},
	{omt + "compound cadences", "C: V G3 G4 B4 D5 | I64 G3 G4 C5 E5 | V54 G3 G4 C5 D5 | V G3 G4 B4 D5 / I C3 E4 G4 C5 ||", nil, "double cadence"},
}
