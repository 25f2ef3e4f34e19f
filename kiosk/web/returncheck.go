package web

import (
	"cmp"
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/returncheck"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// A ReturnCheck is what is looked at, and asked, of a sling that came back: on every
// page that asks it is drawn by one template and read by one function. There is no
// answer that stands for all of them; each is given for itself.
type ReturnCheck struct {
	Kept   string // under which a browser keeps the answers that were not sent yet
	Looks  []Look
	Asks   []Look
	Of     string // who is asked; empty where nobody is
	Later  bool   // who had it may be asked at the next badge scan
	Left   bool   // and is to be
	Remark string // of the last thorough inspection
	What   Choice // asked where something happened
	Note   Field
	Photo  Field
	Open   bool // the fold of note and picture
	Broken string
}

// A Look is one question with its drawings and answers.
type Look struct {
	returncheck.Chosen
	Picture Pictures
	Cite    string // beside it, in short
	Is      event.Is
	Error   string
}

// Field names the radio buttons of a question.
func (l Look) Field() string { return answerField(l.Word) }

// Answers are the three answers of a question.
func (l Look) Answers() []Option {
	return []Option{
		{Value: string(event.IsWell), Label: l.Well, On: l.Is == event.IsWell},
		{Value: string(event.IsWrong), Label: l.Wrong, On: l.Is == event.IsWrong},
		{Value: string(event.IsDoubt), Label: returncheck.InDoubt, On: l.Is == event.IsDoubt},
	}
}

func answerField(word string) string { return "is-" + word }

// returnCheck chooses the check of a sling. What is asked of its rigger is left out
// where of is empty.
func (s *Server) returnCheck(v *visit, sling state.Sling, of string) ReturnCheck {
	w := v.wordsOf(nil)
	chosen := returncheck.Choose(returncheck.FactsOf(sling, v.today))
	c := ReturnCheck{
		Kept: v.who.ID.String() + " " + sling.ID.String() + " " + headsText(sling.Heads), Of: of, Remark: sling.Remark,
		What:  Choice{Name: "what", Legend: "What happened?", Hint: "One or more; the sling is held either way", Many: true, Options: troubles()},
		Note:  Field{Name: "note", Label: "In a few words", Hint: "Where it is, and what else the inspector should know", Most: maxText},
		Photo: Field{Name: "photo", Label: "Picture of it", Hint: photoSays, Type: "file", Accept: "image/*"},
	}
	c.Looks = looksOf(chosen.Looks, w)
	if of != "" {
		c.Asks = looksOf(chosen.Asks, w)
	}
	return c
}

func looksOf(list []returncheck.Chosen, w words) (looks []Look) {
	for _, q := range list {
		looks = append(looks, Look{Chosen: q, Picture: picturesOf(q.Word), Cite: w.say(gate.Speech{Rules: w.rules}.Under(q.Rule).Short())})
	}
	return looks
}

// troubles are what is asked for where something happened.
func troubles() (options []Option) {
	for _, q := range returncheck.Mishaps() {
		options = append(options, Option{Value: q.Word, Label: q.Title, Sub: q.Seek})
	}
	return options
}

// answers reads the answers of a form, whichever were asked: the register gives its
// first answer to the same form sent again, when by then other things would be asked.
func (v *visit) answers() (list []event.Answered) {
	for _, q := range returncheck.Questions() {
		if is, known := event.ParseIs(v.raw(answerField(q.Word))); known {
			list = append(list, event.Answered{Question: q.Word, Is: is})
		}
	}
	for _, q := range returncheck.Mishaps() {
		if slices.Contains(v.r.PostForm["what"], q.Word) {
			list = append(list, event.Answered{Question: q.Word, Is: event.IsWrong})
		}
	}
	return list
}

func answerTo(list []event.Answered, word string) event.Is {
	i := slices.IndexFunc(list, func(a event.Answered) bool { return a.Question == word })
	if i < 0 {
		return ""
	}
	return list[i].Is
}

// withMishap makes a ticked trouble count, whatever was answered to the question above
// it.
func withMishap(list []event.Answered) []event.Answered {
	happened := slices.ContainsFunc(returncheck.Mishaps(), func(q returncheck.Question) bool { return answerTo(list, q.Word) != "" })
	i := slices.IndexFunc(list, func(a event.Answered) bool { return a.Question == returncheck.Mishap })
	switch {
	case happened && i >= 0:
		list[i].Is = event.IsWrong
	case happened:
		list = append(list, event.Answered{Question: returncheck.Mishap, Is: event.IsWrong})
	}
	return list
}

// read makes a finding of what was answered. Where it is not complete the questions
// are marked, with what was answered, and are to be asked again; a form of a sling
// that does not wait for it any more is not held against them.
func (s *Server) readCheck(v *visit, c *ReturnCheck, waits bool) (found counter.Finding, missing bool, err error) {
	wrong := complaints{}
	found.Note = v.note(wrong, "note")
	found.Answers = withMishap(v.answers())
	found.Said = event.SaidOf(found.Answers)
	found.Owes = v.raw("later") == "yes"
	_, c.What.Options = v.chosen("what", c.What.Options)
	c.Left = found.Owes && c.Later
	open := 0
	for _, list := range [][]Look{c.Looks, c.Asks} {
		for i := range list {
			l := &list[i]
			l.Is = answerTo(found.Answers, l.Word)
			if l.Is == "" && !(l.Asked && c.Left) {
				l.Error = "Not answered yet."
				open++
			}
		}
	}
	if answerTo(found.Answers, returncheck.Mishap) == event.IsWrong && found.Note == "" && !slices.ContainsFunc(c.What.Options, func(o Option) bool { return o.On }) {
		c.What.Error = "Choose at least one, or write it down."
	}
	if open > 0 {
		c.Broken = "Nothing is recorded yet: " + plural(open, "question") + " not answered. In doubt is an answer."
	}
	missing = waits && (open > 0 || c.What.Error != "")
	if !missing { // a picture is kept only with what it belongs to
		found.Photo, err = s.photo(v, "photo", wrong)
	}
	c.Note.Value, c.Note.Error, c.Photo.Error = v.raw("note"), wrong["note"], wrong["photo"]
	c.Open = c.Note.Value != "" || len(wrong) > 0
	return found, missing || len(wrong) > 0, err
}

// answeredWords tell what was answered, the gravest first: "Legs side by side: in
// doubt."
func answeredWords(list []event.Answered, w words) []string {
	list = slices.Clone(list)
	slices.SortStableFunc(list, func(a, b event.Answered) int { return cmp.Compare(gravity(b.Is), gravity(a.Is)) })
	var well, out []string
	for _, a := range list {
		q, known := returncheck.Find(a.Question)
		if !known {
			q.Title = strings.ReplaceAll(a.Question, "-", " ") // of a newer program
		}
		switch a.Is {
		case event.IsWell:
			well = append(well, lowerFirst(q.Title))
		case event.IsDoubt:
			out = append(out, w.say(q.Title)+": in doubt.")
		default:
			out = append(out, w.say(q.Title)+": "+map[bool]string{true: "yes", false: "wrong"}[q.Asked]+".")
		}
	}
	if len(well) > 0 {
		out = append(out, w.say("Well: "+strings.Join(well, ", ")+"."))
	}
	return out
}

func gravity(is event.Is) int {
	return slices.Index([]event.Is{event.IsWell, event.IsDoubt, event.IsWrong}, is)
}
