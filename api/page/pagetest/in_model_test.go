package pagetest_test

import (
	"context"
	"encoding/json"
	"net/http"
	"testing"

	"partwright/api/page/pagetest"
	"partwright/worker"
	"partwright/worker/classroom"
	"partwright/worker/request"
)

// What the model answer has at the same place is said of a rule of the class, in words: a row
// that holds a harmony over the barline has that fault in every answer, which a teacher lets
// stand (common practice, no source). Of a class of two who hand in the model answer all is.
func TestClassSaysWhatTheModelHasToo(t *testing.T) {
	pagetest.Chromium(t)
	const row = "C: I IV V I I IV V I"
	a := &classroom.Assignment{Title: "Two phrases"}
	if err := classroom.Prepare(context.Background(), &worker.Engine{}, a, classroom.Order{Task: row, Gives: request.GivesBass, Models: 1}); err != nil {
		t.Fatal(err)
	}
	address := pagetest.Serve(t, "--data-dir", t.TempDir())
	var made struct{ ID string }
	if err := json.Unmarshal(send(t, http.MethodPost, address+"/v1/assignments", "application/json", []byte(`{"title":"Two phrases","task":"`+row+`","gives":"bass","models":1}`)), &made); err != nil {
		t.Fatal(err)
	}
	for _, reference := range []string{"p01", "p02"} {
		send(t, http.MethodPost, address+"/v1/assignments/"+made.ID+"/references/"+reference+"/hand-ins", "application/xml", []byte(a.Models[0].Text))
	}
	for _, width := range []int{1280, 390} {
		b := pagetest.Browse(t, address+"/#assignments?assignment="+made.ID, width, 850)
		w := &classWalk{Tab: b, width: width, address: address, id: made.ID}
		w.Until("what the model answer has too is said of its rule", `document.querySelector('tr:has([data-key="rule-harmony-held-into-strong-beat"]) .in-model')?.innerText === 'The model answer has 2 of 2 faults and cautions too.'`)
		w.see("in the model answer too")
	}
}
