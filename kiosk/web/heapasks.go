package web

import (
	"strings"

	"cribgate/core/event"
	"cribgate/kiosk/counter"
)

// ReturnCheck is what is asked of a sling that came back and is looked at without
// its rigger. Whatever a fuller check asks, it asks here: the page draws it and read
// makes a finding of the answers.
type ReturnCheck struct {
	Legend  string
	Answers []Action
	What    Choice // asked where something is wrong
	Note    Field
}

func returnCheck() ReturnCheck {
	return ReturnCheck{
		Legend: "What do you see?",
		Answers: []Action{
			{Label: "Nothing wrong with it", Sub: "every link, hook, latch and the plate looked at", Name: "said", Value: string(event.Nothing)},
			{Label: "Something is wrong", Sub: "bent, cut, stretched, hot, plate unreadable", Name: "said", Value: string(event.Something)},
			{Label: "I cannot say", Sub: "it is held until an inspector has looked at it", Name: "said", Value: string(event.NotKnown)},
		},
		What: Choice{Name: "what", Legend: "What is wrong with it?", Hint: "One or more; the sling is held either way", Many: true, Options: faults()},
		Note: Field{Name: "note", Label: "In a few words", Hint: "Where it is, and what else the inspector should know", Most: maxText},
	}
}

// read makes a finding of what was answered. Where it is not complete the questions
// are marked, and are to be asked again.
func (c *ReturnCheck) read(v *visit) (found counter.Finding, missing bool) {
	found.Said = event.Said(v.raw("said"))
	note, complaint := v.text("note", maxText)
	c.Note.Value, c.Note.Error = note, complaint
	what, options := v.chosen("what", c.What.Options)
	c.What.Options = options
	if found.Said == event.Nothing && len(what) > 0 {
		found.Said = event.Something // a ticked fault counts, whatever button was pressed
	}
	switch found.Said {
	case event.Nothing, event.NotKnown:
		return found, false
	case event.Something:
	default:
		return found, true
	}
	if v.raw("asked") != "" && len(what) == 0 && note == "" {
		c.What.Error = "Choose at least one, or write it down."
	}
	if note != "" {
		what = append(what, note)
	}
	found.Note = strings.Join(what, ", ")
	return found, len(what) == 0 || complaint != ""
}
