package collection

// Names of the tables.
const (
	Scores    = "scores"
	Findings  = "findings"
	Harmonies = "harmonies"
	Cadences  = "cadences"
)

// Names are those of the tables that every collection has.
var Names = []string{Scores, Findings, Harmonies, Cadences}

// of says which score a row is about.
type of struct {
	Batch string `parquet:"batch,dict" about:"the collection or batch"`
	Score int64  `parquet:"score" about:"the number of the score in it, from 1"`
	File  string `parquet:"file,dict" about:"the name the score came under"`
}

// at says where in the score.
type at struct {
	Measure      string  `parquet:"measure" about:"the printed measure"`
	MeasureIndex int32   `parquet:"measure_index" about:"the measure, counted from 0"`
	Beat         float64 `parquet:"beat" about:"in beats of the meter, from 1"`
	Onset        float64 `parquet:"onset" about:"quarter notes from the start of the score"`
}

// in says in which key.
type in struct {
	Key  string `parquet:"key,dict" about:"the key at that place, such as G minor"`
	Mode string `parquet:"mode,dict" about:"major or minor"`
}

// Score is one score, checked or failed.
type Score struct {
	of
	Outcome  string  `parquet:"outcome,dict" about:"checked or failed"`
	Problem  string  `parquet:"problem,dict" about:"the code of the failure"`
	Title    string  `parquet:"title" about:"as the document says it"`
	Composer string  `parquet:"composer,dict" about:"as the document says it"`
	Rights   string  `parquet:"rights,dict" about:"as the document says them"`
	HomeKey  string  `parquet:"home_key,dict" about:"the key that holds longest"`
	HomeMode string  `parquet:"home_mode,dict" about:"its mode"`
	Texture  string  `parquet:"texture,dict" about:"what the score was taken for, such as choir"`
	Layout   string  `parquet:"layout,dict" about:"how the voices stand on the page"`
	Parts    int32   `parquet:"parts" about:"parts of the document"`
	Voices   int32   `parquet:"voices" about:"voices that were found"`
	Measures int32   `parquet:"measures" about:"measures, repeats not unfolded"`
	Notes    int32   `parquet:"notes" about:"written notes"`
	Quarters float64 `parquet:"quarters" about:"length in quarter notes"`
	Complete bool    `parquet:"complete" about:"whether the score is complete as a hand-in"`
	Faults   int32   `parquet:"faults" about:"findings of that severity"`
	Cautions int32   `parquet:"cautions" about:"findings of that severity"`
	Remarks  int32   `parquet:"remarks" about:"findings of that severity"`
	SHA256   string  `parquet:"sha256" about:"hash of the file"`
	Music    string  `parquet:"music" about:"the same for scores that sound the same"`
	Shape    string  `parquet:"shape" about:"the same for scores that sound the same once transposed"`
	Engine   string  `parquet:"engine,dict" about:"the version that gave the answer"`
	RuleSet  string  `parquet:"rule_set,dict" about:"the rules that were applied"`

	HarmonyStyle string   `parquet:"harmony_style,dict" about:"how the harmony was read, chorale or free"`
	Problems     string   `parquet:"problems,dict" about:"why the score is not complete, with a blank between the kinds"`
	CommonRule   string   `parquet:"commonest_rule,dict" about:"the rule with the most findings, the first by name of equals"`
	Earned       *float64 `parquet:"earned,optional" about:"the mark that is proposed, none without a rubric"`
	Available    *float64 `parquet:"available,optional" about:"the best that can be had for that mark"`
}

// Finding is one finding.
type Finding struct {
	of
	Number   int32  `parquet:"number" about:"the number that stands in the marked score"`
	Follows  int32  `parquet:"follows" about:"the number of the finding it follows from, 0 for none"`
	Rule     string `parquet:"rule,dict" about:"the rule"`
	Family   string `parquet:"family,dict" about:"the family of the rule"`
	Severity string `parquet:"severity,dict" about:"fault, caution or remark"`
	at
	Voices  string `parquet:"voices,dict" about:"the voices from the top, with a blank between them"`
	Pitches string `parquet:"pitches" about:"the pitches, with a blank between them"`
	in
	Numeral string `parquet:"numeral,dict" about:"the harmony at that place"`
	Message string `parquet:"message" about:"what it is, in a sentence"`
	Line    int32  `parquet:"line" about:"the line of the first note in the document, 0 for none"`
}

// Harmony is one harmony.
type Harmony struct {
	of
	Number int32 `parquet:"number" about:"harmonies of the score, counted from 1"`
	at
	End float64 `parquet:"until" about:"where it ceases, in quarter notes from the start"`
	in
	Numeral    string  `parquet:"numeral,dict" about:"in RomanText, such as V65/V"`
	Before     string  `parquet:"before,dict" about:"the numeral before, empty where the key changes"`
	After      string  `parquet:"after,dict" about:"the numeral after, empty where the key changes"`
	Symbol     string  `parquet:"symbol,dict" about:"the chord symbol"`
	Root       string  `parquet:"root,dict" about:"its root"`
	Bass       string  `parquet:"bass,dict" about:"its lowest note"`
	Quality    string  `parquet:"quality,dict" about:"its quality, such as minor seventh"`
	Inversion  int32   `parquet:"inversion" about:"0 for root position"`
	Pivot      string  `parquet:"pivot" about:"the reading in the key that is left"`
	Confidence float64 `parquet:"confidence" about:"how likely a musician reads the same, 0 to 1"`
}

// Cadence is the end of a phrase.
type Cadence struct {
	of
	at
	Kind string `parquet:"kind,dict" about:"PAC, IAC, HC, PC or DC, empty where the end has no name"`
	in
	Approach string `parquet:"approach,dict" about:"the numeral before the formula"`
	From     string `parquet:"penultimate,dict" about:"the numeral before the last"`
	To       string `parquet:"final,dict" about:"the last numeral"`
	Soprano  int32  `parquet:"soprano" about:"the scale degree on top at the end, 0 for an altered one"`
	Phrygian bool   `parquet:"phrygian" about:"whether the half cadence is Phrygian"`
	Picardy  bool   `parquet:"picardy" about:"whether a minor key ends on a major tonic"`
}
