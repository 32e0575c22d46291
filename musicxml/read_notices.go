package musicxml

import (
	"fmt"
	"slices"

	"partwright/musicxml/markup"
)

// maxNotices is how many notices of one code are listed; the rest are counted.
const maxNotices = 20

// noticePlace is the part and the measure (an index in the frame, or -1) that a
// notice is about.
type noticePlace struct {
	part    string
	measure int
}

// pendingNotice waits for its line and label until the score is read.
type pendingNotice struct {
	Notice
	at markup.ID
}

// notices collects what was odd. The zero value is ready to use.
type notices struct {
	list  []pendingNotice
	count map[string]int
}

// add notes something odd about an element; markup.None where it has none.
func (n *notices) add(at markup.ID, place noticePlace, code, format string, args ...any) {
	if n.count == nil {
		n.count = map[string]int{}
	}
	n.count[code]++
	if n.count[code] > maxNotices {
		return
	}
	n.list = append(n.list, pendingNotice{Notice{
		Code: code, Part: place.part, Measure: place.measure, Message: fmt.Sprintf(format, args...),
	}, at})
}

// publish gives the notices in document order, with lines and labels.
func (r *reader) publishNotices() {
	if len(r.notices.list) == 0 {
		return
	}
	list := r.notices.list
	slices.SortStableFunc(list, func(a, b pendingNotice) int { return int(a.at) - int(b.at) })
	out := make([]Notice, 0, len(list))
	for i := range list {
		n := list[i].Notice
		if list[i].at != markup.None {
			n.Line = r.tree.PositionOf(r.elements[list[i].at].Start).Line
		}
		if n.Measure >= 0 {
			n.Label = r.doc.Score.Measures[n.Measure].Label
		}
		out = append(out, n)
	}
	codes := make([]string, 0, len(r.notices.count))
	for code, count := range r.notices.count {
		if count > maxNotices {
			codes = append(codes, code)
		}
	}
	slices.Sort(codes)
	for _, code := range codes {
		out = append(out, Notice{Code: code, Measure: -1, Message: fmt.Sprintf(
			"%s of this kind (%s) not listed.", countedMore(r.notices.count[code]-maxNotices), code)})
	}
	r.doc.Notices = out
}

func counted(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

func countedMore(n int) string {
	if n == 1 {
		return "1 more notice"
	}
	return fmt.Sprintf("%d more notices", n)
}
