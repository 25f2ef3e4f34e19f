package event

import (
	"slices"

	"cribgate/core/strict"
)

// Is is what one question about a sling that came back was answered with. The zero
// value is not answered. In doubt is an answer, and never a good one.
type Is string

// The answers.
const (
	IsWell  Is = "ok"
	IsWrong Is = "wrong"
	IsDoubt Is = "doubt"
)

// ParseIs reads an answer; known is false for any other word.
func ParseIs(word string) (is Is, known bool) {
	return Is(word), Is(word) == IsWell || Is(word) == IsWrong || Is(word) == IsDoubt
}

// grave orders answers: the graver, the higher; no answer is 0.
func (i Is) grave() int { return slices.Index([]Is{"", IsWell, IsDoubt, IsWrong}, i) }

// Answered is one question of the return check with its answer. The word is that of a
// closed list that grows (cribgate/core/returncheck); what an older program asked is
// read for ever.
type Answered struct {
	Question string // a word, as an envelope spells one
	Is       Is
}

// maxAnswered is more than any check asks.
const maxAnswered = 32

// Worst gives the gravest answer of a list, the zero Is of an empty one.
func Worst(list []Answered) (worst Is) {
	for _, a := range list {
		if a.Is.grave() > worst.grave() {
			worst = a.Is
		}
	}
	return worst
}

// SaidOf is the least that answers say: that something is wrong, that nobody can say,
// or nothing.
func SaidOf(list []Answered) Said {
	switch Worst(list) {
	case IsWrong:
		return Something
	case IsDoubt:
		return NotKnown
	}
	return Nothing
}

// With is the summary with answers beside it: what they say, where that is graver.
func (s Said) With(list []Answered) Said {
	if least := SaidOf(list); len(list) > 0 && least.Is().grave() > s.Is().grave() {
		return least
	}
	return s
}

// Is is what a summary says as one answer; the zero Is for none of the three.
func (s Said) Is() Is {
	switch s {
	case Nothing:
		return IsWell
	case NotKnown:
		return IsDoubt
	case Something:
		return IsWrong
	}
	return ""
}

// readAnswers reads the list that bodies of a return have, nil where there is none. A
// summary that makes light of an answer is refused.
func readAnswers(o *strict.Object, said Said) (list []Answered) {
	items := o.OptObjs("answers")
	if len(items) > maxAnswered {
		o.Fail("answers", "more than %d", maxAnswered)
		return nil
	}
	for _, item := range items {
		a := Answered{Question: item.Str("question")}
		var known bool
		if a.Is, known = ParseIs(item.Str("is")); !known {
			item.Fail("is", "not ok, wrong or doubt")
		}
		twice := slices.ContainsFunc(list, func(b Answered) bool { return b.Question == a.Question })
		if !isWord(a.Question, 32) || twice {
			item.Fail("question", "no word, or asked twice")
		}
		list = append(list, a)
	}
	if said.Is().grave() < Worst(list).grave() {
		o.Fail("said", "makes light of an answer")
	}
	return list
}

func writeAnswers(w *strict.Writer, list []Answered) {
	if len(list) == 0 {
		return
	}
	w.List("answers")
	for _, a := range list {
		w.Begin()
		w.Str("question", a.Question)
		w.Str("is", string(a.Is))
		w.End()
	}
	w.End()
}

func readOptPhoto(o *strict.Object, name string) Photo {
	if !o.Has(name) {
		return Photo{}
	}
	return readPhoto(o, name)
}

func writeOptPhoto(w *strict.Writer, name string, p Photo) {
	if p != (Photo{}) {
		w.Str(name, p.String())
	}
}
