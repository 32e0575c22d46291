package api

import (
	"mime"
	"strconv"
	"strings"
)

// Media types of scores and answers.
const (
	typeMusicXML  = "application/vnd.recordare.musicxml+xml"
	typeContainer = "application/vnd.recordare.musicxml"
	typeJSON      = "application/json"
	typeHTML      = "text/html"
	typeMixed     = "multipart/mixed"
	typeMIDI      = "audio/midi"
	typeText      = "text/plain"
	typeCSV       = "text/csv"
	typeEvents    = "text/event-stream"
)

// mediaRange is one member of an Accept header (RFC 9110, 12.5.1).
type mediaRange struct {
	kind, subtype string
	quality       float64
}

// parseAccept reads an Accept header; anything that is not a media range is skipped.
// Parameters other than q are not looked at.
func parseAccept(header string) []mediaRange {
	var ranges []mediaRange
	for member := range strings.SplitSeq(header, ",") {
		if len(ranges) == maxRanges {
			break
		}
		name, params, err := mime.ParseMediaType(strings.TrimSpace(member))
		if err != nil {
			continue
		}
		kind, subtype, ok := strings.Cut(name, "/")
		if !ok {
			continue
		}
		r := mediaRange{kind: kind, subtype: subtype, quality: 1}
		if q, ok := params["q"]; ok {
			value, err := strconv.ParseFloat(q, 64)
			if err != nil || value < 0 || value > 1 {
				continue
			}
			r.quality = value
		}
		ranges = append(ranges, r)
	}
	return ranges
}

// maxRanges bounds the work on one header.
const maxRanges = 64

// specificity is 3 for the very type, 2 for type/*, 1 for */*, 0 for no match.
func (r mediaRange) specificity(offer string) int {
	kind, subtype, _ := strings.Cut(offer, "/")
	switch {
	case r.kind == kind && r.subtype == subtype:
		return 3
	case r.kind == kind && r.subtype == "*":
		return 2
	case r.kind == "*" && r.subtype == "*":
		return 1
	}
	return 0
}

// negotiate returns the offer with the highest quality, the earliest of equals;
// false if none is accepted. Without an Accept header everything is.
func negotiate(header string, offers []string) (string, bool) {
	if strings.TrimSpace(header) == "" {
		header = "*/*"
	}
	ranges := parseAccept(header)
	best, bestQuality := "", 0.0
	for _, offer := range offers {
		if q := qualityOf(ranges, offer); q > bestQuality {
			best, bestQuality = offer, q
		}
	}
	return best, bestQuality > 0
}

// qualityOf is that of the most specific range that matches.
func qualityOf(ranges []mediaRange, offer string) float64 {
	quality, most := 0.0, 0
	for _, r := range ranges {
		if s := r.specificity(offer); s > most {
			quality, most = r.quality, s
		}
	}
	return quality
}
