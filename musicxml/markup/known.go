package markup

// The names a reader of MusicXML asks for, from the W3C MusicXML 4.0 element and
// attribute lists. A name is written in Go as in the standard, hyphens dropped.
const (
	NameAccidental Name = iota
	NameActualNotes
	NameAlter
	NameAlternate
	NameArpeggiate
	NameArticulations
	NameAttributes
	NameBackup
	NameBarStyle
	NameBarline
	NameBass
	NameBassAlter
	NameBassStep
	NameBeam
	NameBeatType
	NameBeatUnit
	NameBeatUnitDot
	NameBeats
	NameBreathMark
	NameCaesura
	NameCancel
	NameChord
	NameChromatic
	NameClef
	NameClefOctaveChange
	NameCoda
	NameColor
	NameContainer
	NameCreator
	NameCredit
	NameCreditType
	NameCreditWords
	NameCue
	NameDacapo
	NameDalsegno
	NameDashes
	NameDefaultX
	NameDefaultY
	NameDegree
	NameDegreeAlter
	NameDegreeType
	NameDegreeValue
	NameDiatonic
	NameDirection
	NameDirectionType
	NameDirectionTypeId
	NameDisplayOctave
	NameDisplayStep
	NameDivisions
	NameDot
	NameDouble
	NameDuration
	NameDynamics
	NameElision
	NameEncoding
	NameEndLine
	NameEndParagraph
	NameEnding
	NameExtend
	NameFermata
	NameFifths
	NameFigure
	NameFigureNumber
	NameFiguredBass
	NameFine
	NameForward
	NameFraction
	NameFromBelow
	NameFullPath
	NameFunction
	NameGrace
	NameHarmony
	NameHarpPedals
	NameId
	NameIdentification
	NameImplicit
	NameInstrument
	NameInterchangeable
	NameInversion
	NameKey
	NameKeyAccidental
	NameKeyAlter
	NameKeyOctave
	NameKeyStep
	NameKind
	NameLabel
	NameLocation
	NameLyric
	NameMeasure
	NameMeasureRepeat
	NameMeasureStyle
	NameMediaType
	NameMetronome
	NameMiscellaneous
	NameMiscellaneousField
	NameMode
	NameMovementNumber
	NameMovementTitle
	NameMultipleRest
	NameName
	NameNonControlling
	NameNormalDots
	NameNormalNotes
	NameNormalType
	NameNotations
	NameNote
	NameNotehead
	NameNumber
	NameNumeral
	NameNumeralAlter
	NameNumeralFifths
	NameNumeralKey
	NameNumeralMode
	NameNumeralRoot
	NameOctave
	NameOctaveChange
	NameOctaveShift
	NameOffset
	NameOrnaments
	NameOtherDirection
	NameParenthesesDegrees
	NamePart
	NamePartAbbreviation
	NamePartGroup
	NamePartId
	NamePartList
	NamePartName
	NamePartNameDisplay
	NamePerMinute
	NamePitch
	NamePlacement
	NamePrefix
	NamePrint
	NamePrintObject
	NamePrintSpacing
	NameRehearsal
	NameRepeat
	NameRest
	NameRights
	NameRoot
	NameRootAlter
	NameRootStep
	NameRootfile
	NameRootfiles
	NameScoreInstrument
	NameScorePart
	NameScorePartwise
	NameScoreTimewise
	NameSegno
	NameSenzaMisura
	NameSign
	NameSingleVoice
	NameSize
	NameSlash
	NameSlur
	NameSoftware
	NameSound
	NameStaff
	NameStaffDetails
	NameStaffLines
	NameStaffTuning
	NameStart
	NameStaves
	NameStem
	NameStep
	NameStop
	NameStyle
	NameSuffix
	NameSupports
	NameSyllabic
	NameSymbol
	NameSyncopated
	NameTab
	NameTempo
	NameText
	NameTie
	NameTied
	NameTime
	NameTimeModification
	NameTimeOnly
	NameTimes
	NameTocoda
	NameTranspose
	NameTremolo
	NameTuplet
	NameType
	NameUnpitched
	NameValue
	NameVersion
	NameVoice
	NameWidth
	NameWordFont
	NameWords
	NameWork
	NameWorkNumber
	NameWorkTitle
	NameXmlLang
)

var knownNames = [...]string{
	NameAccidental:         "accidental",
	NameActualNotes:        "actual-notes",
	NameAlter:              "alter",
	NameAlternate:          "alternate",
	NameArpeggiate:         "arpeggiate",
	NameArticulations:      "articulations",
	NameAttributes:         "attributes",
	NameBackup:             "backup",
	NameBarStyle:           "bar-style",
	NameBarline:            "barline",
	NameBass:               "bass",
	NameBassAlter:          "bass-alter",
	NameBassStep:           "bass-step",
	NameBeam:               "beam",
	NameBeatType:           "beat-type",
	NameBeatUnit:           "beat-unit",
	NameBeatUnitDot:        "beat-unit-dot",
	NameBeats:              "beats",
	NameBreathMark:         "breath-mark",
	NameCaesura:            "caesura",
	NameCancel:             "cancel",
	NameChord:              "chord",
	NameChromatic:          "chromatic",
	NameClef:               "clef",
	NameClefOctaveChange:   "clef-octave-change",
	NameCoda:               "coda",
	NameColor:              "color",
	NameContainer:          "container",
	NameCreator:            "creator",
	NameCredit:             "credit",
	NameCreditType:         "credit-type",
	NameCreditWords:        "credit-words",
	NameCue:                "cue",
	NameDacapo:             "dacapo",
	NameDalsegno:           "dalsegno",
	NameDashes:             "dashes",
	NameDefaultX:           "default-x",
	NameDefaultY:           "default-y",
	NameDegree:             "degree",
	NameDegreeAlter:        "degree-alter",
	NameDegreeType:         "degree-type",
	NameDegreeValue:        "degree-value",
	NameDiatonic:           "diatonic",
	NameDirection:          "direction",
	NameDirectionType:      "direction-type",
	NameDirectionTypeId:    "direction-type-id",
	NameDisplayOctave:      "display-octave",
	NameDisplayStep:        "display-step",
	NameDivisions:          "divisions",
	NameDot:                "dot",
	NameDouble:             "double",
	NameDuration:           "duration",
	NameDynamics:           "dynamics",
	NameElision:            "elision",
	NameEncoding:           "encoding",
	NameEndLine:            "end-line",
	NameEndParagraph:       "end-paragraph",
	NameEnding:             "ending",
	NameExtend:             "extend",
	NameFermata:            "fermata",
	NameFifths:             "fifths",
	NameFigure:             "figure",
	NameFigureNumber:       "figure-number",
	NameFiguredBass:        "figured-bass",
	NameFine:               "fine",
	NameForward:            "forward",
	NameFraction:           "fraction",
	NameFromBelow:          "from-below",
	NameFullPath:           "full-path",
	NameFunction:           "function",
	NameGrace:              "grace",
	NameHarmony:            "harmony",
	NameHarpPedals:         "harp-pedals",
	NameId:                 "id",
	NameIdentification:     "identification",
	NameImplicit:           "implicit",
	NameInstrument:         "instrument",
	NameInterchangeable:    "interchangeable",
	NameInversion:          "inversion",
	NameKey:                "key",
	NameKeyAccidental:      "key-accidental",
	NameKeyAlter:           "key-alter",
	NameKeyOctave:          "key-octave",
	NameKeyStep:            "key-step",
	NameKind:               "kind",
	NameLabel:              "label",
	NameLocation:           "location",
	NameLyric:              "lyric",
	NameMeasure:            "measure",
	NameMeasureRepeat:      "measure-repeat",
	NameMeasureStyle:       "measure-style",
	NameMediaType:          "media-type",
	NameMetronome:          "metronome",
	NameMiscellaneous:      "miscellaneous",
	NameMiscellaneousField: "miscellaneous-field",
	NameMode:               "mode",
	NameMovementNumber:     "movement-number",
	NameMovementTitle:      "movement-title",
	NameMultipleRest:       "multiple-rest",
	NameName:               "name",
	NameNonControlling:     "non-controlling",
	NameNormalDots:         "normal-dots",
	NameNormalNotes:        "normal-notes",
	NameNormalType:         "normal-type",
	NameNotations:          "notations",
	NameNote:               "note",
	NameNotehead:           "notehead",
	NameNumber:             "number",
	NameNumeral:            "numeral",
	NameNumeralAlter:       "numeral-alter",
	NameNumeralFifths:      "numeral-fifths",
	NameNumeralKey:         "numeral-key",
	NameNumeralMode:        "numeral-mode",
	NameNumeralRoot:        "numeral-root",
	NameOctave:             "octave",
	NameOctaveChange:       "octave-change",
	NameOctaveShift:        "octave-shift",
	NameOffset:             "offset",
	NameOrnaments:          "ornaments",
	NameOtherDirection:     "other-direction",
	NameParenthesesDegrees: "parentheses-degrees",
	NamePart:               "part",
	NamePartAbbreviation:   "part-abbreviation",
	NamePartGroup:          "part-group",
	NamePartId:             "part-id",
	NamePartList:           "part-list",
	NamePartName:           "part-name",
	NamePartNameDisplay:    "part-name-display",
	NamePerMinute:          "per-minute",
	NamePitch:              "pitch",
	NamePlacement:          "placement",
	NamePrefix:             "prefix",
	NamePrint:              "print",
	NamePrintObject:        "print-object",
	NamePrintSpacing:       "print-spacing",
	NameRehearsal:          "rehearsal",
	NameRepeat:             "repeat",
	NameRest:               "rest",
	NameRights:             "rights",
	NameRoot:               "root",
	NameRootAlter:          "root-alter",
	NameRootStep:           "root-step",
	NameRootfile:           "rootfile",
	NameRootfiles:          "rootfiles",
	NameScoreInstrument:    "score-instrument",
	NameScorePart:          "score-part",
	NameScorePartwise:      "score-partwise",
	NameScoreTimewise:      "score-timewise",
	NameSegno:              "segno",
	NameSenzaMisura:        "senza-misura",
	NameSign:               "sign",
	NameSingleVoice:        "single-voice",
	NameSize:               "size",
	NameSlash:              "slash",
	NameSlur:               "slur",
	NameSoftware:           "software",
	NameSound:              "sound",
	NameStaff:              "staff",
	NameStaffDetails:       "staff-details",
	NameStaffLines:         "staff-lines",
	NameStaffTuning:        "staff-tuning",
	NameStart:              "start",
	NameStaves:             "staves",
	NameStem:               "stem",
	NameStep:               "step",
	NameStop:               "stop",
	NameStyle:              "style",
	NameSuffix:             "suffix",
	NameSupports:           "supports",
	NameSyllabic:           "syllabic",
	NameSymbol:             "symbol",
	NameSyncopated:         "syncopated",
	NameTab:                "tab",
	NameTempo:              "tempo",
	NameText:               "text",
	NameTie:                "tie",
	NameTied:               "tied",
	NameTime:               "time",
	NameTimeModification:   "time-modification",
	NameTimeOnly:           "time-only",
	NameTimes:              "times",
	NameTocoda:             "tocoda",
	NameTranspose:          "transpose",
	NameTremolo:            "tremolo",
	NameTuplet:             "tuplet",
	NameType:               "type",
	NameUnpitched:          "unpitched",
	NameValue:              "value",
	NameVersion:            "version",
	NameVoice:              "voice",
	NameWidth:              "width",
	NameWordFont:           "word-font",
	NameWords:              "words",
	NameWork:               "work",
	NameWorkNumber:         "work-number",
	NameWorkTitle:          "work-title",
	NameXmlLang:            "xml:lang",
}
