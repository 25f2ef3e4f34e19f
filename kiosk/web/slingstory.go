package web

import (
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/core/strict"
	"cribgate/store"
)

// A Telling is one event of a story in words.
type Telling struct {
	When     string // in the crib's local time
	Who      string
	How      string // how the sling was identified, and where
	Sentence string
	More     []string
	Photo    string // address; empty for none
	Asked    Asked
	Report   string // address of the report, of a thorough inspection
	Position string
	Hash     string // its beginning; the head at the end of the page vouches for all
}

// tellings tells a story, the oldest event first.
func tellings(story []store.Record, w words) []Telling {
	told := make([]Telling, 0, len(story))
	var before state.Sling
	for _, r := range story {
		e := r.Envelope
		t := Telling{
			When: w.clock(e.UTC), Who: w.name(e.By), How: wayWords(e.Way) + ", " + e.Station,
			Position: strconv.FormatInt(e.At, 10), Hash: r.Hash.String()[:12],
		}
		if e.Doubt != event.ClockSure {
			t.When += ", the time is not sure"
		}
		if e.By.IsZero() {
			t.Who, t.How = "The program", e.Station
		}
		t.tell(r.Body, before.Details, w)
		if _, inspected := r.Body.(event.Inspected); inspected {
			t.Report = reportPath(e.Subject.Sling(), e.At)
		}
		before = before.Apply(r.Event())
		told = append(told, t)
	}
	return told
}

// tell puts an event into words. before is what was on record until then.
func (t *Telling) tell(body event.Body, before event.Details, w words) {
	switch b := body.(type) {
	case nil:
		t.Sentence = "A newer version of this program wrote something here that this one cannot read."
	case event.Registered:
		t.Sentence = "Registered: " + w.makeUp(b.Details.Sling.Plate) + "."
		t.More = registeredMore(b.Details, w)
	case event.Corrected:
		t.Sentence = "Details corrected: " + sentenceEnd(b.Reason)
		t.More = corrections(before, b.Details, w)
	case event.TagPrinted:
		t.Sentence = "QR tag " + strconv.Itoa(int(b.Serial)) + " printed on " + b.Stock + "."
	case event.TagConfirmed:
		t.Sentence = "QR tag " + strconv.Itoa(int(b.Serial)) + " confirmed on the sling; " + b.Typed + " was typed from the plate."
		t.More = append(t.More, gradedMore(b.Graded))
	case event.TagSpoiled:
		t.Sentence = "QR tag " + strconv.Itoa(int(b.Serial)) + " thrown away: " + spoiltWords(b.Why) + "."
		t.note(b.Note)
	case event.TagRead:
		t.Sentence = "QR tag " + strconv.Itoa(int(b.Serial)) + " is worn otherwise than before: " + readWords(b)
	case event.Compared:
		t.Sentence = "Compared after the register was brought back: " + b.Typed + " was typed from the plate, and tag " + strconv.Itoa(int(b.Serial)) + " was scanned on the sling."
		if b.Serial == 0 {
			t.Sentence = "Compared after the register was brought back: it has no tag, and " + b.Typed + " is stamped on it."
		}
	case event.Issued:
		t.Sentence = "Handed to " + w.name(b.Rigger)
		if !b.ReturnBy.IsZero() {
			t.Sentence += ", needed back by " + b.ReturnBy.Long()
		}
		t.Sentence += "."
		if b.Typed != "" {
			t.More = append(t.More, b.Typed+" was typed from the plate.")
		}
		if b.Marked != "" {
			t.More = append(t.More, "Marked for the keeper: "+sentenceEnd(b.Marked))
		}
		t.Asked = asked(b.Verdict, nil, w)
	case event.Refused:
		t.Sentence = "Asked for and kept here."
		if !b.Rigger.IsZero() {
			t.Sentence = "Asked for by " + w.name(b.Rigger) + " and kept here."
		}
		t.Asked = asked(b.Verdict, b.Reasons, w)
	case event.Returned:
		t.tellReturned(b, w)
	case event.Held:
		t.Sentence = "Held: " + sentenceEnd(b.Reason)
	case event.Released:
		t.Sentence = "Released: " + sentenceEnd(b.Reason)
	case event.Inspected:
		t.Sentence = w.say("Thoroughly inspected on ") + b.Date.Long() + ": " + outcomeWords(b.Outcome) + ", next due " + b.Due.Long() + "."
		t.More = append(t.More, upperFirst(serviceWords(b.Service, b.Months))+w.say(". Rating tag ")+ratingTagWords(b.RatingTag)+".")
		t.note(b.Note)
		t.tellSheet(b.Sheet, w)
	case event.FiguresSet:
		t.Sentence = plural(len(b.Figures), "dimension") + " of new parts written down."
		for _, f := range b.Figures {
			t.More = append(t.More, w.figureTold(f))
		}
	case event.Retired:
		t.Sentence = w.say("Retired for good: ") + sentenceEnd(b.Reason)
		t.More = append(t.More, "Made unusable: "+sentenceEnd(b.How))
		if b.Witness != "" {
			t.More = append(t.More, "Seen by "+sentenceEnd(b.Witness))
		}
		if b.Salvage != "" {
			t.More = append(t.More, "To be saved, if the repair shop says so: "+sentenceEnd(b.Salvage))
		}
	case event.Lost:
		t.Sentence = "Reported lost."
		t.note(b.Note)
	case event.Found:
		t.Sentence = "Turned up again; held until it has been looked at."
		t.note(b.Note)
	case event.TakenIn, event.Checked, event.Told:
		t.tellHeap(b, w)
	case event.Taken, event.HandedOn, event.Placed, event.Recalled:
		t.tellAway(b, w)
	case event.Seen, event.Moved:
		t.tellCount(b, before)
	case event.Impounded, event.Custody, event.Freed, event.SentOff, event.CameBack, event.Remedied:
		t.tellKept(b, w)
	case event.SetAside:
		t.Sentence = "Set aside for a lift of " + w.name(b.Rigger) + " on " + b.Day.Long() + "."
	case event.PutBack:
		t.Sentence = "Not set aside any more."
		t.note(b.Why)
	case event.Examined:
		t.tellExamined(b, w)
	case event.Erased:
		t.Sentence = "What it says above of a person was erased: " + sentenceEnd(b.Why)
	default:
		t.Sentence = "An entry that does not belong to a sling: " + string(b.Kind()) + "."
	}
}

func (t *Telling) note(note string) {
	if note != "" {
		t.More = append(t.More, "Note: "+sentenceEnd(note))
	}
}

func sentenceEnd(text string) string {
	if text == "" || strings.HasSuffix(text, ".") || strings.HasSuffix(text, "!") || strings.HasSuffix(text, "?") {
		return text
	}
	return text + "."
}

func saidWords(s event.Said) string {
	switch s {
	case event.Nothing:
		return "nothing happened"
	case event.Something:
		return "something happened, so it is held"
	case event.NotKnown:
		return "nobody could say what happened, so it is held"
	}
	return "what happened is not known"
}

func registeredMore(d event.Details, w words) []string {
	var more []string
	stamps := make([]string, len(d.Sling.Stamped))
	for i, s := range d.Sling.Stamped {
		stamps[i] = stampWords(s, w)
	}
	switch len(stamps) {
	case 0:
		more = append(more, w.say("No rated load was stamped on it."))
	default:
		more = append(more, "Stamped: "+strings.Join(stamps, "; ")+w.say(". Rating tag ")+ratingTagWords(d.Sling.RatingTag)+".")
	}
	if d.Sling.Hottest != nil {
		more = append(more, "It had been as hot as "+w.temperature(*d.Sling.Hottest).Value+".")
	}
	if d.Place != "" {
		more = append(more, "Hangs at "+d.Place+".")
	}
	if d.Sling.Inspected.IsZero() {
		more = append(more, w.say("No thorough inspection was on record."))
	} else {
		more = append(more, w.say("Last thorough inspection ")+d.Sling.Inspected.Long()+": "+outcomeWords(d.Outcome)+", next due "+d.Sling.Due.Long()+".")
	}
	if d.Sling.State == gate.StateHeld {
		more = append(more, "Registered as held.")
	}
	return more
}

// corrections says field by field what a correction changed.
func corrections(was, now event.Details, w words) []string {
	a, b := detailWords(was, w), detailWords(now, w)
	var more []string
	for i := range a {
		if a[i].Value != b[i].Value {
			more = append(more, a[i].Label+" was "+a[i].Value+", is now "+b[i].Value+".")
		}
	}
	if len(more) == 0 {
		more = append(more, "Nothing was changed.")
	}
	return more
}

// detailWords lists everything that can be corrected, in a fixed order.
func detailWords(d event.Details, w words) []Fact {
	s := d.Sling
	or := func(text string) string {
		if text == "" {
			return "none"
		}
		return text
	}
	stamps := make([]string, len(s.Stamped))
	for i, x := range s.Stamped {
		stamps[i] = stampWords(x, w)
	}
	hottest := "none known"
	if s.Hottest != nil {
		hottest = w.temperature(*s.Hottest).Value
	}
	facts := []Fact{
		{Label: "Stamped in", Value: systemWords(s.System)}, {Label: "Size", Value: s.Size.Words()},
		{Label: "Grade", Value: strconv.Itoa(int(s.Grade))}, {Label: "Legs", Value: strconv.Itoa(s.Legs)},
		{Label: "Reach", Value: w.reach(s.Reach).Value}, {Label: "Can be shortened", Value: yesNo(s.Adjustable)},
		{Label: "Rated loads stamped", Value: or(strings.Join(stamps, "; "))},
		{Label: "Maker", Value: or(d.Maker)}, {Label: "Made", Value: or(string(d.Made))}, {Label: "Place", Value: or(d.Place)},
	}
	chart := w.stamped("Single leg by the maker’s chart", s.Chart)
	weakest, master := w.stamped("Weakest component, one leg", s.Weakest), w.stamped("Upper fitting", s.Master)
	for _, f := range []*Fact{&chart, &weakest, &master} {
		if f.Value == "0 lb" {
			f.Value = "none"
		}
	}
	facts = append(facts, fittingFacts(d.Fittings, w)...)
	return append(facts, chart, weakest, master,
		Fact{Label: "Hottest it has been", Value: hottest}, Fact{Label: "Rating tag", Value: ratingTagWords(s.RatingTag)},
		Fact{Label: "Last thorough inspection", Value: or(s.Inspected.Long())}, Fact{Label: "Its outcome", Value: outcomeWords(d.Outcome)},
		Fact{Label: "Next due", Value: or(s.Due.Long())}, Fact{Label: "Service", Value: serviceWords(d.Service, d.Months)},
		Fact{Label: "Note", Value: or(d.Note)})
}

func stampWords(s rating.Stamp, w words) string {
	f := w.stamped("", s.Load)
	return f.Value + " for " + lowerFirst(stampName(s.Legs, s.Basis))
}

func systemWords(s rating.System) string {
	switch s {
	case rating.US:
		return "inch sizes, angles from horizontal"
	case rating.EN:
		return "millimetre sizes, angles from vertical"
	}
	return "not known"
}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

// An Asked is a question put to the gate and its answer, as they were recorded.
// The zero value is none.
type Asked struct {
	Facts   []Fact
	Reasons []Reason
	Lines   []string // question, answer and edition, word for word as the register has them
}

// asked reads a recorded verdict back. Lines that this program cannot read are
// shown as they are.
func asked(v event.Verdict, codes []string, w words) Asked {
	var a Asked
	answer := gate.Answer{}
	if v.Question != "" {
		if q, err := gate.ParseQuestion([]byte(v.Question)); err == nil {
			if q.Lift != nil {
				a.Facts = statedLift{StatedLift: event.StatedLift{Lift: *q.Lift, Weighed: q.Lift.Margin == 0}}.facts(w.lead)
			}
			// Only for the figures in the sentences; what was answered is below.
			if now, err := gate.Decide(q); err == nil && v.Edition == gate.RulesEdition {
				answer = now
			}
		}
		a.Lines = append(a.Lines, "Question: "+v.Question)
	}
	if v.Answer != "" {
		a.Facts = append(a.Facts, answeredFacts(v.Answer, w)...)
		a.Lines = append(a.Lines, "Answer: "+v.Answer)
	}
	if v.Edition != "" {
		a.Lines = append(a.Lines, "Rules edition "+v.Edition)
	}
	for _, code := range codes {
		r, err := gate.ParseReason(code)
		if err != nil {
			a.Reasons = append(a.Reasons, Reason{Sentence: "A reason that this program does not know: " + code + "."})
			continue
		}
		text := w.says(r, answer)
		a.Reasons = append(a.Reasons, Reason{Sentence: text.Sentence, Rule: text.Rule})
	}
	return a
}

// answeredFacts are the figures of an answer as it was recorded, never worked
// out again.
func answeredFacts(line string, w words) []Fact {
	v, err := strict.Parse([]byte(line))
	if err != nil {
		return nil
	}
	o := strict.Open("answer", v)
	var facts []Fact
	// They are recorded to the nearest gram, so that half of one may be missing.
	const half = quantity.Gram / 2
	for _, f := range []struct {
		name, label string
		in          func(words, string, quantity.Mass) Fact
		miss        quantity.Mass
	}{
		{"required_g", "Needed", words.needs, -half}, {"allowed_g", "Allowed", words.may, half},
		{"leg_g", "Most that one leg carries", words.needs, -half}, {"leg_allowed_g", "A leg may carry", words.may, half},
	} {
		if o.Has(f.name) {
			m := quantity.Gram * quantity.Mass(o.Int(f.name, 0, quantity.MaxGrams))
			facts = append(facts, f.in(w, f.label, max(0, m+f.miss)))
		}
	}
	return facts
}

// changed tells what happened to a sling since a form of it was shown.
func (was sent) changed(story []store.Record, w words) Changed {
	if !was.stale {
		return Changed{}
	}
	seen := map[event.Hash]bool{}
	mark := was.heads
	byHash := make(map[event.Hash]store.Record, len(story))
	for _, r := range story {
		byHash[r.Hash] = r
	}
	for len(mark) > 0 {
		h := mark[len(mark)-1]
		mark = mark[:len(mark)-1]
		if r, known := byHash[h]; known && !seen[h] {
			seen[h] = true
			mark = append(mark, r.Envelope.Parents...)
		}
	}
	c := Changed{Sentence: "What you sent was not done, because this happened to the sling after your page was loaded:"}
	told := tellings(story, w)
	for i, r := range story {
		if !seen[r.Hash] {
			c.Since = append(c.Since, told[i])
		}
	}
	return c
}
