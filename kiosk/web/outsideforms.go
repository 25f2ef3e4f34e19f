package web

import (
	"cribgate/core/state"
)

// maxArea is the most characters of an area's name.
const maxArea = 40

// nowhere is sent where a sling is kept nowhere in particular any more.
const nowhere = "~"

// placeForm asks where a sling that is out is kept. The areas in use are offered.
func placeForm(sling state.Sling, areas []string, was sent) ActForm {
	const name = "place"
	f := ActForm{Act: name, Title: "It is kept at a machine or in an area", Sub: "so that whoever looks for it knows where",
		Button: Action{Label: "Write down where it is kept", First: true}}
	if here := sling.Loan.Area; here != "" {
		f.Sub = "now: " + here
	}
	var known []Option
	for _, area := range areas {
		known = append(known, Option{Value: area, Label: area, On: was.text(name, "known") == area})
	}
	if sling.Loan.Area != "" {
		known = append(known, Option{Value: nowhere, Label: "Nowhere in particular", Sub: "its rigger carries it"})
	}
	if len(known) > 0 {
		f.Parts = append(f.Parts, FormPart{Choice: &Choice{Name: "known", Legend: "Where?", Options: known}})
	}
	f.Parts = append(f.Parts, FormPart{Field: &Field{Name: "area", Label: "Or another machine or area", Hint: "Press 4, bay 2, dock crane",
		Value: was.text(name, "area"), Error: was.complaint(name, "area"), Most: maxArea}},
		area(was, name, "place-note", "Note", "", false))
	return f
}

// recallForm asks for a sling back.
func recallForm(sling state.Sling, was sent) ActForm {
	const name = "recall"
	f := ActForm{Act: name, Title: "Recall it", Sub: "its rigger is told at the counter, and it is not handed on",
		Parts: []FormPart{
			area(was, name, "recall-reason", "Why?", "Needed elsewhere, to be inspected, the maker asks for it.", true),
			{Field: &Field{Name: "by", Label: "By which day?", Hint: "Leave it empty for at once", Type: "date", Value: was.text(name, "by"), Error: was.complaint(name, "by")}},
		},
		Button: Action{Label: "Recall " + sling.Details.Ident, First: true}}
	if sling.Loan.Recall != (state.Recall{}) {
		f.Title, f.Sub = "Recall it again", recallSays(sling.Loan.Recall)
	}
	return f
}
