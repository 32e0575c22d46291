package partwriting_test

// modelExamples are printed model solutions.
var modelExamples = []example{
	{hutch + "chapter 26, practice", "g: i G2 D4 G4 Bb4 | viio6 A2 C4 F#4 A4 | i6 Bb2 D4 D4 G4 | V D3 A3 D4 F#4 / VI Eb3 G3 Bb3 G4 ||", nil, "the alto's F sharp falls a third"},
	{hutch + "chapter 26, practice", "b: i B2 D4 F#4 B4 | V64 C#3 C#4 F#4 A#4 | i6 D3 B3 F#4 B4 | iio6 E3 E4 G4 C#5 / Cad64 F#3 D4 F#4 B4 | V F#3 C#4 F#4 A#4 | VI G3 B3 D4 B4 ||", []string{"all-one-direction SATB 4"}, "passing and cadential six-four"},
	{hutch + "chapter 26, practice", "c: i C3 Eb4 G4 C5 / iv F3 F4 Ab4 C5 | i64 G3 Eb4 G4 C5 | iv6 Ab3 F4 F4 C5 | iio6 F3 F4 Ab4 D5 / Cad64 G3 Eb4 G4 C5 | V G3 D4 G4 B4 | VI Ab3 C4 Eb4 C5 ||", nil, "deceptive end"},
	{hutch + "chapter 26, practice", "d: i D3 D4 F4 A4 | VII C3 E4 G4 C5 | III F3 F4 A4 C5 | iv G3 D4 G4 Bb4 / V A3 C#4 E4 A4 | VI Bb3 D4 D4 F4 | iv G3 Bb3 D4 G4 | i D3 A3 D4 F4 ||", nil, "root positions"},
	{hutch + "chapter 27, practice", "b: i7 B2 D4 F#4 A4 | iv7 E3 D4 E4 G4 | VII7 A2 C#4 E4 G4 | IIImaj7 D3 C#4 D4 F#4 / VImaj7 G2 B3 D4 F#4 | iiø7 C#3 B3 C#4 E4 | V7 F#2 A#3 C#4 E4 | i B2 B3 B3 D4 ||", nil, "root-position sevenths, complete and incomplete in turn"},
	{hutch + "chapter 29, practice", "Ab: I Ab2 Eb4 Ab4 C5 | V7/vi C3 E4 G4 Bb4 | V7/ii F3 Eb4 F4 A4 | V7/V Bb2 D4 F4 Ab4 / V Eb3 Bb3 Eb4 G4 | viio7/vi E3 Bb3 Db4 G4 | vi F3 Ab3 C4 F4 ||", nil, "applied dominants"},
	{hutch + "chapter 28, practice", "b: i B2 D4 F#4 B4 | - B2 D4 F#4 (C#5) | iv E3 E4 G4 B4 | - E3 E4 (F#4) B4 / i B2 (E4) F#4 B4 | - B2 D4 F#4 B4 | III D3 D4 F#4 A4 | - D3 (C#4) F#4 A4 / iv E3 B3 (F#4) G4 | - E3 B3 E4 G4 | V F#3 (B3) C#4 F#4 | - F#3 A#3 C#4 F#4 / VI G3 B3 B3 D4 ||", nil, "nonchord tones added"},
	{hutch + "chapter 29, practice", "Ab: vi F3 F4 Ab4 C5 | Fr43 Fb3 D4 Ab4 Bb4 | V7 Eb3 Db4 (Ab4) Bb4 | - Eb3 Db4 G4 Bb4 / bVI Fb3 Cb4 Ab4 Ab4 | N6 Db3 Db4 Fb4 Bbb4 | viio7/V D3 Cb4 F4 Ab4 | V Eb3 Bb3 Eb4 G4 / vi F3 Ab3 C4 Ab4 ||", nil, "chromatic by design"},
	{imt + "unit 11a", "C: I C3 G3 E4 C5 | ii6 F2 A3 D4 A4 | V7 G2 G3 F4 B4 | I C3 G3 E4 C5 ||", nil, "a melody harmonized"},
	{imt + "unit 11b", "C: I C3 G3 E4 C5 | vi A2 A3 E4 C5 | ii D3 A3 F4 D5 | V G2 B3 G4 D5 / I C3 C4 E4 C5 ||", nil, "the last chord without fifth"},
}
