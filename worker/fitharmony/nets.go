package main

import (
	"log"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"

	"partwright/theory/harmony"
	"partwright/theory/harmony/beatnet"
)

// recipe says what a net learns from: how much a beat of each kind of music counts.
// No recipe has the notes of chorales, whose encodings are not free.
type recipe struct {
	style harmony.Style
	// notes are scores with their labels, labels is music made of labels alone,
	// excerpts that of labels around changes of key; by the name of the set.
	notes, labels, excerpts map[string]float32
	training                training
}

var recipes = map[harmony.Style]recipe{
	harmony.ChoraleStyle: {
		style:    harmony.ChoraleStyle,
		notes:    map[string]float32{"textbooks": 1.5},
		labels:   map[string]float32{"chorales": 1, "textbooks": 1.5, "songs": 0.7},
		excerpts: map[string]float32{"chorales": 0.6, "songs": 0.6},
		training: choraleTraining,
	},
	harmony.FreeStyle: {
		style:    harmony.FreeStyle,
		notes:    map[string]float32{"songs": 1, "preludes": 1},
		labels:   map[string]float32{"chorales": 1, "songs": 1, "preludes": 1},
		training: freeTraining,
	},
}

// beats are what a net may learn from when a fold of every set is left out; -1
// leaves out none.
func (a *allSets) beats(r recipe, leave int) []beatExample {
	z := &realizer{rand.New(rand.NewPCG(uint64(leave+2), 5))}
	var out []beatExample
	add := func(e *example, weight float32) {
		if e != nil {
			out = append(out, beatsOf(e.texture, e.labels, weight)...)
		}
	}
	for _, s := range a.all() {
		if weight := r.notes[s.name]; weight > 0 {
			for i, e := range s.examples {
				if s.fold[i] != leave {
					add(e, weight)
				}
			}
		}
		for _, labels := range s.outside(leave) {
			if weight := r.labels[s.name]; weight > 0 {
				add(z.realize(s.name, labels), weight)
			}
			if weight := r.excerpts[s.name]; weight > 0 {
				for _, excerpt := range z.excerpts(labels) {
					add(z.realize(s.name, excerpt), weight)
				}
			}
		}
	}
	return out
}

// foldNets trains a net for each fold, which has seen that fold of no set.
func (a *allSets) foldNets(r recipe) [folds]*beatnet.Net {
	var nets [folds]*beatnet.Net
	began := time.Now()
	each(folds, func(fold int) { nets[fold] = train(a.beats(r, fold), r.training) })
	log.Printf("trained %d nets for the style %s in %v", folds, r.style, time.Since(began).Round(time.Second))
	return nets
}

// trainNets writes the nets of both styles.
func trainNets(data, out string) error {
	sets, err := readSets(data)
	if err != nil {
		return err
	}
	for style, r := range recipes {
		beats := sets.beats(r, -1)
		log.Printf("%s: %d beats", style, len(beats))
		file, err := os.Create(filepath.Join(out, "net-"+style.String()+".bin"))
		if err != nil {
			return err
		}
		err = beatnet.Write(file, netComment, train(beats, r.training))
		if closing := file.Close(); err == nil {
			err = closing
		}
		if err != nil {
			return err
		}
	}
	return nil
}

const netComment = `A net of package beatnet, trained by "go run ./worker/fitharmony nets" on RomanText
labels of the dataset "When in Rome" (Gotham, Micchi, Napoles Lopez, Sailor, TISMIR
6(1), 2023), CC BY-SA 4.0, with notes made of these labels by the program, with those
of the dataset's textbook examples and with songs of the OpenScore Lieder Corpus, CC0.
It is a derivative under CC BY-SA 4.0. theory/harmony/README.md says more.`
