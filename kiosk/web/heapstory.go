package web

import (
	"fmt"

	"cribgate/core/event"
)

// tellReturned puts into words that a sling came back.
func (t *Telling) tellReturned(b event.Returned, w words) {
	t.Sentence = "Came back from " + w.name(b.From) + ": " + saidWords(b.Said) + "."
	t.late(b.Late)
	if b.Doubled {
		t.More = append(t.More, "It lay here while the record had it out: something else may be out under its name.")
	}
	t.answered(b.Answers, b.Photo, w)
	if b.Owes {
		t.More = append(t.More, w.name(b.From)+" was not there, and was to be asked.")
	}
	t.note(b.Note)
}

// answered tells what was answered, question by question.
func (t *Telling) answered(list []event.Answered, photo event.Photo, w words) {
	t.More = append(t.More, answeredWords(list, w)...)
	if photo != (event.Photo{}) {
		t.Photo = "/photo/" + photo.String()
	}
}

// late says when it happened that was written on paper first.
func (t *Telling) late(l event.Late) {
	if l == (event.Late{}) {
		return
	}
	text := "Entered afterwards: it was on " + fmt.Sprintf("%s, %02d:%02d", l.At.Day.Long(), l.At.Minute/60, l.At.Minute%60)
	if l.At.Day.IsZero() {
		text = "Entered afterwards, and nobody wrote when it was"
	}
	if l.Pad > 0 {
		text += ", by sheet " + itoa(l.Pad) + " of the pad, row " + itoa(l.Row)
	}
	t.More = append(t.More, text+".")
}

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
		t.answered(b.Answers, b.Photo, w)
		t.note(b.Note)
	case event.Told:
		t.Sentence = w.name(b.From) + " said afterwards: " + saidWords(b.Said) + "."
		t.answered(b.Answers, event.Photo{}, w)
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
	case event.Taken:
		t.Sentence = "Taken by " + w.name(b.Rigger) + ", and not issued here"
		if b.Rigger.IsZero() {
			t.Sentence = "Taken, nobody knows by whom, and not issued here"
		}
		if !b.ReturnBy.IsZero() {
			t.Sentence += ", needed back by " + b.ReturnBy.Long()
		}
		t.Sentence += "."
		t.late(b.Late)
		t.note(b.Note)
		t.Asked = asked(b.Verdict, nil, w)
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
