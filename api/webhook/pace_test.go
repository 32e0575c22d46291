package webhook

import (
	"testing"
	"time"
)

// What is known of a receiver is kept while it matters, and no longer: there may be any
// number of webhooks over the years.
func TestPaceForgetsWhoIsNotHeardOf(t *testing.T) {
	p := newPace(4)
	now := time.Now()
	_, endBusy := p.begin("busy", 1, now)
	_, end := p.begin("slow", 1, now)
	p.took("slow", 30*time.Second)
	end()
	now = now.Add(longestPause / 2)
	if _, end = p.begin("slow", 1, now); end == nil {
		t.Fatal("a slow receiver that is idle was put off")
	}
	wait, none := p.begin("slow", 1, now)
	if none != nil || wait < 30*time.Second {
		t.Errorf("a second message to a slow receiver waits %v", wait)
	}
	end()
	now = now.Add(longestPause + time.Second)
	p.begin("another", 1, now)
	if p.of["slow"] != nil || p.of["busy"] == nil || len(p.of) != 2 {
		t.Errorf("known are %v", p.of)
	}
	endBusy()
}
