package main

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
)

// What is simulated must take what arithmetic says it takes, whenever it comes.
func TestSimulationAndArithmeticAgree(t *testing.T) {
	load := Load{PerDay: 1e6, Archive: 2000, Hours: workday}
	const days = 3
	o := simulate(load, measured, oneServer, 4, days, 5)
	want := need(load.PerDay, measured, oneServer)
	near(t, "cores at work", o.WorkersBusy*4, want.WorkerCores, 0.1)
	near(t, "cores of the database at work", o.DatabaseBusy*float64(oneServer.DatabaseCores), want.DatabaseCores, 0.1)
}

// With fewer cores than the work needs it is never done; with more it is done sooner.
func TestMoreWorkersAreDoneSooner(t *testing.T) {
	slow := measured
	slow.Score *= 200
	load := Load{PerDay: 1e6, Archive: 2000, Hours: workday}
	least := int(need(load.PerDay, slow, oneServer).WorkerCores)
	short, enough, plenty := simulate(load, slow, oneServer, least*3/4, 2, 5), simulate(load, slow, oneServer, 2*least, 2, 5), simulate(load, slow, oneServer, 5*least, 2, 5)
	if short.Left < 1000 || short.WorkersBusy < 0.7 {
		t.Errorf("too few: %+v", short)
	}
	if plenty.MeanStay >= enough.MeanStay || enough.MeanStay >= short.MeanStay {
		t.Errorf("stays: %s, %s, %s", short.MeanStay, enough.MeanStay, plenty.MeanStay)
	}
}

func TestLimitsAreMetWhereTheyAre(t *testing.T) {
	all := limits(measured, oneServer)
	for i, l := range all {
		n := need(l.PerDay, measured, oneServer)
		switch l.Name {
		case "disk":
			near(t, "kept", n.DiskKept, oneServer.Disk, 1e-9)
		case "write-ahead log":
			near(t, "log", n.LogPerSecond, oneServer.LogBytes, 1e-9)
		case "processors of the database":
			near(t, "processors", n.DatabaseCores, float64(oneServer.DatabaseCores)*oneServer.Busy, 1e-9)
		}
		if i > 0 && all[i-1].PerDay > l.PerDay {
			t.Error("the nearest limit does not come first")
		}
	}
}

// The document tells what the program tells now.
func TestDocumentIsUpToDate(t *testing.T) {
	text, err := os.ReadFile("../CAPACITY.md")
	if err != nil {
		t.Fatal(err)
	}
	var tables strings.Builder
	writeNeeds(&tables, measured, oneServer)
	if !strings.Contains(string(text), tables.String()) {
		t.Errorf("CAPACITY.md lacks these tables; go run ./deploy/capacity\n%s", tables.String())
	}
	drawn, err := os.ReadFile("../capacity.svg")
	if err != nil {
		t.Fatal(err)
	}
	if string(drawn) != picture(measured, oneServer) {
		t.Error("capacity.svg is not what is drawn now: go run ./deploy/capacity -svg deploy/capacity.svg")
	}
	for d := xml.NewDecoder(bytes.NewReader(drawn)); ; {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			t.Fatalf("the picture is not XML: %v", err)
		}
	}
}
