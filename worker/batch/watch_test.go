package batch

import "testing"

// Whoever watches hears of each change, and leaves nothing behind: anybody can ask for
// batches that never were.
func TestWatchesEnd(t *testing.T) {
	var s Service
	one, other := s.Watch("b"), s.Watch("b")
	changed, also := one.Changed(), other.Changed()
	s.watched.changed("another")
	select {
	case <-changed:
		t.Error("another batch's change was heard")
	default:
	}
	s.watched.changed("b")
	<-changed
	<-also
	next := other.Changed()
	one.End()
	s.watched.changed("b")
	<-next
	other.End()
	if n := len(s.watched.batches); n != 0 {
		t.Errorf("%d batches are watched by nobody", n)
	}
}
