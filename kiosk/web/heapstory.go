package web

import "cribgate/core/event"

// tellHeap puts what happens to a sling of a heap into words.
func (t *Telling) tellHeap(body event.Body, w words) {
	switch b := body.(type) {
	case event.TakenIn:
		t.Sentence = "Taken in with a heap; nobody had looked at it yet."
		if b.From.IsZero() {
			t.More = append(t.More, "The record had it with nobody.")
		} else {
			t.More = append(t.More, "Off the name of "+w.name(b.From)+", who was to be asked.")
		}
	case event.Checked:
		t.Sentence = "Looked at after it came back: " + checkedWords(b.Said) + "."
		t.note(b.Note)
	case event.Told:
		t.Sentence = w.name(b.From) + " said afterwards: " + saidWords(b.Said) + "."
		t.note(b.Note)
	}
}

func checkedWords(s event.Said) string {
	if s == event.Nothing {
		return "nothing is wrong with it"
	}
	if s == event.Something {
		return "something is wrong, so it is held"
	}
	return "nobody could say, so it is held"
}

// tellAway puts what happens to a sling that is out into words.
func (t *Telling) tellAway(body event.Body, w words) {
	switch b := body.(type) {
	case event.HandedOn:
		t.Sentence = "Handed on from " + w.name(b.From) + " to " + w.name(b.To) + ", for the same lift or use."
		t.note(b.Note)
	case event.Placed:
		t.Sentence = "Kept at " + b.Area + "."
		if b.Area == "" {
			t.Sentence = "Kept nowhere in particular any more."
		}
		t.note(b.Note)
	case event.Recalled:
		t.Sentence = "Recalled at once: " + sentenceEnd(b.Reason)
		if !b.By.IsZero() {
			t.Sentence = "Recalled, to be back by " + b.By.Long() + ": " + sentenceEnd(b.Reason)
		}
	}
}
