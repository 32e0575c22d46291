package markup

import "bytes"

// Position is a place in the text as an editor shows it, both counted from 1;
// the column counts bytes.
type Position struct{ Line, Column int }

// lineBlock is the stretch of text over which lines are counted anew at each
// look-up: small enough to count in a fraction of a microsecond, large enough
// that the index over the blocks costs next to nothing.
const lineBlock = 4096

// lineStart is the line that a block begins in: how many come before it, and where it
// begins.
type lineStart struct{ number, start int32 }

var lineFeed = []byte{'\n'}

// PositionOf returns the line and column of a byte offset. It may be called
// from several goroutines.
func (t *Tree) PositionOf(offset int32) Position {
	t.indexLines.Do(func() {
		t.linesBefore = make([]lineStart, 0, len(t.Text)/lineBlock+1)
		var line lineStart
		for at := 0; at <= len(t.Text); at += lineBlock {
			t.linesBefore = append(t.linesBefore, line)
			block := t.Text[at:min(at+lineBlock, len(t.Text))]
			if last := bytes.LastIndexByte(block, '\n'); last >= 0 {
				line = lineStart{line.number + int32(bytes.Count(block, lineFeed)), int32(at + last + 1)} //nolint:gosec // offsets have 32 bits
			}
		}
	})
	at := min(max(int(offset), 0), len(t.Text))
	block := at / lineBlock
	line, rest := t.linesBefore[block], t.Text[block*lineBlock:at]
	start := int(line.start)
	if last := bytes.LastIndexByte(rest, '\n'); last >= 0 {
		start = block*lineBlock + last + 1
	}
	return Position{Line: int(line.number) + bytes.Count(rest, lineFeed) + 1, Column: at - start + 1}
}
