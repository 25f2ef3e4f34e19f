package counter

import (
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/state"
)

// A Finding is what is asked of a sling that came back: what the return check found,
// or what its rigger says. Anything but that nothing is wrong holds the sling, and
// that something is needs an answer that says what, or a note. Without answers only
// the summary is recorded, as by paper.
type Finding struct {
	Said    event.Said // may be left out where there are answers; never less than they say
	Answers []event.Answered
	Note    string
	Photo   event.Photo
	Owes    bool // whoever had it was not there, and is to be asked later
}

// complete makes the summary say what the answers say.
func (f Finding) complete(what string) (Finding, error) {
	f.Note = strings.TrimSpace(f.Note)
	f.Said = f.Said.With(f.Answers)
	if f.Said == event.Something && event.Worst(f.Answers) != event.IsWrong {
		_, err := needed(what, "what happened", f.Note)
		return f, err
	}
	return f, nil
}

// returned is the event that says so of a sling that is out.
func (f Finding) returned(s state.Sling) event.Returned {
	return event.Returned{From: s.Loan.Rigger, Said: f.Said, Note: f.Note, Answers: f.Answers, Photo: f.Photo, Owes: f.Owes && !s.Loan.Rigger.IsZero()}
}

// spelled gives all that was found, for the digest of the request.
func (f Finding) spelled() []string {
	list := []string{string(f.Said), f.Note, f.Photo.String(), strconv.FormatBool(f.Owes)}
	for _, a := range f.Answers {
		list = append(list, a.Question, string(a.Is))
	}
	return list
}
