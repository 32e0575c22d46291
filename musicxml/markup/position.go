package markup

import "bytes"

// Position is a place in the text as an editor shows it, both counted from 1;
// the column counts bytes.
type Position struct{ Line, Column int }

// lineBlock is the stretch of text over which lines are counted anew at each
// look-up: small enough to count in a fraction of a microsecond, large enough
// that the index over the blocks costs next to nothing.
const lineBlock = 4096

var lineFeed = []byte{'\n'}

// PositionOf returns the line and column of a byte offset. It may be called
// from several goroutines.
func (t *Tree) PositionOf(offset int32) Position {
	t.indexLines.Do(func() {
		t.linesBefore = make([]int32, 0, len(t.Text)/lineBlock+1)
		var lines int32
		for at := 0; at <= len(t.Text); at += lineBlock {
			t.linesBefore = append(t.linesBefore, lines)
			lines += int32(bytes.Count(t.Text[at:min(at+lineBlock, len(t.Text))], lineFeed))
		}
	})
	at := min(max(int(offset), 0), len(t.Text))
	block := at / lineBlock
	lines := int(t.linesBefore[block]) + bytes.Count(t.Text[block*lineBlock:at], lineFeed)
	return Position{Line: lines + 1, Column: at - bytes.LastIndexByte(t.Text[:at], '\n')}
}
