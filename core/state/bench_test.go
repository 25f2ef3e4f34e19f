package state

import (
	"slices"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/tagcode"
)

// on reads a date that a test writes.
func on(text string) quantity.Date {
	d, err := quantity.ParseDate(text)
	if err != nil {
		panic(err)
	}
	return d
}

func throat(leg int, mm int64) event.Figure {
	return event.Figure{Of: event.FigureOf{Dimension: event.Throat, Leg: leg}, Value: quantity.Length(mm) * quantity.Millimetre, Basis: event.FromMaker}
}

// asked is the question of a sheet on which all that it takes was measured, and some
// parts more.
func asked(more ...removal.Part) string {
	p := details().Sling.Plate
	q := removal.Question{ID: "q", Sling: removal.Sling{Grade: p.Grade, Size: p.Size, Legs: p.Legs}}
	for leg := 1; leg <= p.Legs; leg++ {
		q.Found.Links = append(q.Found.Links, removal.Link{Leg: leg, At: 4, D1: 13_000, D2: 12_900})
		q.Found.Runs = append(q.Found.Runs, removal.Run{Leg: leg, Links: 11, Length: 429_000})
		q.Found.Hooks = append(q.Found.Hooks, removal.Hook{Leg: leg, ThroatNew: 28_000, Throat: 28_000, SectionNew: 20_000, Section: 20_000, Latch: removal.LatchGood})
	}
	q.Found.Parts = append(more, removal.Part{What: removal.Master, New: 16_000, Thinnest: 16_000})
	text, err := q.MarshalJSON()
	if err != nil {
		panic(err)
	}
	return string(text)
}

// measured is a thorough inspection that passed, due a year later.
func measured(day string, used int) event.Inspected {
	return event.Inspected{
		Date: on(day), Outcome: tagcode.Fit, Service: due.Normal, Due: on(day).AddMonths(12), RatingTag: gate.TagLegible,
		Sheet: &event.Sheet{Verdict: event.Verdict{Question: asked()}, Regime: event.Periodic, Decision: event.DecidedFit, Used: used},
	}
}

func examined(defects ...event.Defect) event.Examined {
	return event.Examined{Visit: event.VisitID{1}, Date: on("2026-03-01"), Due: on("2026-09-01"), RatingTag: gate.TagLegible, Defects: defects}
}

// lifted is an issue for a lift that needs so much of what may be carried.
func lifted(pct int) event.Issued {
	return event.Issued{Rigger: who, Serial: 1, Use: event.Use{Stated: true, Share: pct}}
}

// What happens to a sling on its way to the bench and back, how urgent it is at
// each step, whether it may be issued, and whether the story contradicts itself.
func TestBench(t *testing.T) {
	registered := event.Registered{Details: details()}
	out, hurt := event.Issued{Rigger: who, Serial: 1}, event.Returned{From: who, Said: event.Something, Note: "a jerk"}
	hard, easier, well := lifted(90), lifted(89), event.Returned{From: who, Said: event.Nothing}
	impounded := event.Impounded{Reason: "the load fell", Holder: "office", Lies: "locker"}
	for _, c := range []struct {
		why     string
		story   []event.Body
		state   gate.State
		gravity Gravity
		doubt   Doubt
	}{
		{"as registered", nil, gate.StateIn, Routine, 0},
		{"out", []event.Body{out}, gate.StateOut, Routine, 0},
		{"back well", []event.Body{out, event.Returned{From: who, Said: event.Nothing}}, gate.StateIn, Routine, 0},
		{"back hurt", []event.Body{out, hurt}, gate.StateHeld, Reported, 0},
		{"back and nobody knows", []event.Body{out, event.Returned{From: who, Said: event.NotKnown}}, gate.StateHeld, Doubted, 0},
		{"nobody knew, and then somebody did", []event.Body{out, event.Returned{From: who, Said: event.NotKnown}, event.Told{From: who, Said: event.Something}}, gate.StateHeld, Reported, 0},
		{"hurt, and then somebody does not know", []event.Body{out, event.TakenIn{From: who}, event.Checked{Said: event.Something}, event.Told{From: who, Said: event.NotKnown}}, gate.StateHeld, Reported, 0},
		{"held", []event.Body{event.Held{Reason: "r"}}, gate.StateHeld, Kept, 0},
		{"hurt and released", []event.Body{out, hurt, event.Released{Reason: "r"}}, gate.StateIn, Routine, 0},
		{"impounded", []event.Body{impounded}, gate.StateHeld, Seized, 0},
		{"impounded while out", []event.Body{out, impounded}, gate.StateOut, Seized, 0},
		{"impounded while out, and back", []event.Body{out, impounded, event.Returned{From: who, Said: event.Nothing}}, gate.StateHeld, Seized, 0},
		{"impounded twice", []event.Body{impounded, impounded}, gate.StateHeld, Seized, Contradicts},
		{"impounded and handed on", []event.Body{impounded, event.Custody{Holder: "laboratory"}}, gate.StateHeld, Seized, 0},
		{"handed on and not impounded", []event.Body{event.Custody{Holder: "laboratory"}}, gate.StateIn, Routine, Contradicts},
		{"impounded and released", []event.Body{impounded, event.Released{Reason: "r"}}, gate.StateIn, Seized, Contradicts},
		{"impounded and retired", []event.Body{impounded, event.Retired{Reason: "r"}}, gate.StateRetired, Seized, Contradicts},
		{"impounded and found fit", []event.Body{impounded, measured("2026-03-01", 100)}, gate.StateHeld, Seized, 0},
		{"freed", []event.Body{impounded, event.Freed{Reason: "closed"}}, gate.StateHeld, Kept, 0},
		{"freed and released", []event.Body{impounded, event.Freed{Reason: "closed"}, event.Released{Reason: "r"}}, gate.StateIn, Routine, 0},
		{"freed and not impounded", []event.Body{event.Freed{Reason: "closed"}}, gate.StateIn, Routine, Contradicts},
		{"sent off", []event.Body{event.Held{Reason: "r"}, event.SentOff{To: "maker"}}, gate.StateHeld, Kept, 0},
		{"sent off and not held", []event.Body{event.SentOff{To: "maker"}}, gate.StateIn, Routine, Contradicts},
		{"sent off twice", []event.Body{event.Held{Reason: "r"}, event.SentOff{To: "maker"}, event.SentOff{To: "maker"}}, gate.StateHeld, Kept, Contradicts},
		{"sent off while impounded", []event.Body{impounded, event.SentOff{To: "maker"}}, gate.StateHeld, Seized, Contradicts},
		{"sent off and released", []event.Body{event.Held{Reason: "r"}, event.SentOff{To: "maker"}, event.Released{Reason: "r"}}, gate.StateIn, Routine, Contradicts},
		{"back from repair", []event.Body{event.Held{Reason: "r"}, event.SentOff{To: "maker"}, event.CameBack{From: "maker"}}, gate.StateHeld, Kept, 0},
		{"back from repair and never there", []event.Body{event.Held{Reason: "r"}, event.CameBack{From: "maker"}}, gate.StateHeld, Kept, Contradicts},
		{"back from repair, found fit", []event.Body{event.Held{Reason: "r"}, event.SentOff{To: "maker"}, event.CameBack{From: "maker"}, measured("2026-03-01", 10), event.Released{Reason: "r"}}, gate.StateIn, Routine, 0},
		{"examined and passed", []event.Body{examined()}, gate.StateIn, Routine, 0},
		{"a defect to be remedied", []event.Body{examined(event.Defect{What: "latch", By: on("2026-03-20")})}, gate.StateIn, Watched, 0},
		{"a defect that was remedied", []event.Body{examined(event.Defect{What: "latch", By: on("2026-03-20")}), event.Remedied{No: 1, How: "h"}}, gate.StateIn, Routine, 0},
		{"another defect remedied", []event.Body{examined(event.Defect{What: "latch", By: on("2026-03-20")}), event.Remedied{No: 2, How: "h"}}, gate.StateIn, Watched, Contradicts},
		{"a defect that is dangerous now", []event.Body{examined(event.Defect{What: "crack"})}, gate.StateHeld, Kept, 0},
		{"hard at work", []event.Body{hard}, gate.StateOut, Routine, 0},
		{"back from hard work", []event.Body{hard, well}, gate.StateIn, Worked, 0},
		{"back from hard work, in a heap", []event.Body{hard, event.TakenIn{From: who}}, gate.StateUnchecked, Worked, 0},
		{"back from easier work", []event.Body{easier, well}, gate.StateIn, Routine, 0},
		{"back from hard work, and found fit", []event.Body{hard, well, measured("2026-03-01", 100)}, gate.StateIn, Routine, 0},
		{"worn fast", []event.Body{measured("2025-09-01", 300), measured("2026-03-01", 800)}, gate.StateIn, Watched, 0},
		{"worn slowly", []event.Body{measured("2025-09-01", 300), measured("2026-03-01", 350)}, gate.StateIn, Routine, 0},
		{"not worn", []event.Body{measured("2025-09-01", 300), measured("2026-03-01", 300)}, gate.StateIn, Routine, 0},
	} {
		s := FoldSling(id, story(append([]event.Body{registered}, c.story...)...))
		if s.Details.Sling.State != c.state || s.Gravity() != c.gravity || s.Doubt != c.doubt {
			t.Errorf("%s: %s, gravity %d, doubt %b, want %s, %d, %b", c.why, s.Details.Sling.State, s.Gravity(), s.Doubt, c.state, c.gravity, c.doubt)
		}
	}
}

// A line through the last two inspections reaches the limit on the very day that
// the next is due, a day before, and a day after.
func TestWearsOut(t *testing.T) {
	for _, c := range []struct {
		days, used int
		want       bool
	}{{365, 500, true}, {366, 500, false}, {364, 500, true}, {365, 499, false}, {365, 1000, true}} {
		a := on("2026-03-01").AddDays(-c.days)
		first := measured(a.String(), 0)
		s := FoldSling(id, story(event.Registered{Details: details()}, first, measured("2026-03-01", c.used)))
		if got := s.Gravity() == Watched; got != c.want {
			t.Errorf("%d per mille in %d days: %t", c.used, c.days, got)
		}
	}
}

// What is due next is the inspection or the remedy, whichever is first.
func TestNext(t *testing.T) {
	for _, c := range []struct {
		defect event.Defect
		want   string
	}{
		{event.Defect{What: "latch", By: on("2026-08-31")}, "2026-08-31"}, {event.Defect{What: "latch", By: on("2026-09-01")}, "2026-09-01"},
		{event.Defect{What: "latch", By: on("2026-09-02")}, "2026-09-01"},
	} {
		if s := FoldSling(id, story(event.Registered{Details: details()}, examined(c.defect))); s.Next() != on(c.want) {
			t.Errorf("%s: next is %s, want %s", c.defect.By, s.Next(), c.want)
		}
	}
	figures := FoldSling(id, story(event.Registered{Details: details()}, event.FiguresSet{Figures: []event.Figure{throat(1, 28), throat(2, 28)}}, event.FiguresSet{Figures: []event.Figure{throat(1, 30)}},
		event.Held{Reason: "r"}, event.SentOff{To: "maker"}, event.CameBack{From: "maker", Changed: []event.Piece{{Hook: true, Leg: 2}}}))
	if len(figures.New) != 1 || figures.New[0].Figure != throat(1, 30) || figures.New[0].By != who || figures.Details.Outcome != tagcode.Hold {
		t.Errorf("%+v, outcome %s", figures.New, figures.Details.Outcome)
	}
}

// What failed stays failed until it is measured and passed, or is put in anew; a word
// passes nothing that was ever measured.
func TestFailed(t *testing.T) {
	hook := func(leg int) event.Piece { return event.Piece{Hook: true, Leg: leg} }
	not := func(o tagcode.Outcome, failed ...event.Piece) event.Inspected {
		b := measured("2026-03-01", 1200)
		b.Outcome = o
		b.Sheet.Failed = failed
		return b
	}
	back := func(changed ...event.Piece) []event.Body {
		return []event.Body{event.SentOff{To: "maker"}, event.CameBack{From: "maker", Changed: changed}}
	}
	whole := event.Piece{}
	coupler := event.Piece{What: removal.Coupler, Leg: 1}
	passed := func(question string) event.Inspected {
		b := measured("2026-03-09", 100)
		b.Sheet.Verdict.Question = question
		return b
	}
	dangerous := examined(event.Defect{What: "crack"})
	elsewhere := examined()
	elsewhere.Visit = event.VisitID{2}
	short := details()
	short.Sling.Legs = 1
	again := func(o tagcode.Outcome, due string) event.Corrected {
		d := reads(o)
		d.Sling.Inspected, d.Sling.Due = on("2026-03-01"), on(due)
		return event.Corrected{Details: d}
	}
	for name, c := range map[string]struct {
		story []event.Body
		want  []event.Piece
	}{
		"never measured":                          {[]event.Body{inspected(tagcode.Out)}, nil},
		"measured and passed":                     {[]event.Body{measured("2026-03-01", 100)}, nil},
		"two hooks":                               {[]event.Body{not(tagcode.Out, hook(1), hook(2))}, []event.Piece{hook(1), hook(2)}},
		"written before it was said which":        {[]event.Body{not(tagcode.Hold)}, []event.Piece{whole}},
		"one of them is put in anew":              {append([]event.Body{not(tagcode.Out, hook(1), hook(2))}, back(hook(1))...), []event.Piece{hook(2)}},
		"both are":                                {append([]event.Body{not(tagcode.Out, hook(1), hook(2))}, back(hook(1), hook(2))...), nil},
		"nothing was":                             {append([]event.Body{not(tagcode.Out, hook(1))}, back()...), []event.Piece{hook(1), whole}},
		"it came back, and is measured":           {append(append([]event.Body{not(tagcode.Out, hook(1), hook(2))}, back(hook(1))...), measured("2026-03-09", 100)), nil},
		"it came back, and somebody says fit":     {append(append([]event.Body{not(tagcode.Out, hook(1), hook(2))}, back(hook(1))...), inspected(tagcode.Fit)), []event.Piece{hook(2)}},
		"an examiner says fit":                    {[]event.Body{not(tagcode.Out, hook(1)), examined()}, []event.Piece{hook(1)}},
		"it is corrected to fit":                  {[]event.Body{not(tagcode.Out, hook(1)), event.Corrected{Details: details()}}, []event.Piece{hook(1)}},
		"the whole, and a part put in anew":       {append([]event.Body{not(tagcode.Hold, whole)}, back(hook(1))...), []event.Piece{whole}},
		"measured, and then not passed by word":   {[]event.Body{measured("2026-03-01", 100), inspected(tagcode.Hold)}, []event.Piece{whole}},
		"measured, and an examiner says danger":   {[]event.Body{measured("2026-03-01", 100), examined(event.Defect{What: "crack"})}, []event.Piece{whole}},
		"measured, and corrected to not passed":   {[]event.Body{measured("2026-03-01", 100), event.Corrected{Details: reads(tagcode.Out)}}, []event.Piece{whole}},
		"measured, and back with another chain":   {append([]event.Body{measured("2026-03-01", 100), event.Held{Reason: "r"}}, back(event.Piece{Chain: true, Leg: 1})...), nil},
		"failed twice":                            {[]event.Body{not(tagcode.Out, hook(1)), not(tagcode.Out, hook(1), hook(2))}, []event.Piece{hook(1), hook(2)}},
		"a coupler, and a sheet without it":       {[]event.Body{not(tagcode.Out, coupler), passed(asked())}, []event.Piece{coupler}},
		"a coupler, and a sheet with the other":   {[]event.Body{not(tagcode.Out, coupler), passed(asked(removal.Part{What: removal.Coupler, Leg: 2, New: 9, Thinnest: 9}))}, []event.Piece{coupler}},
		"a coupler, and a sheet with it":          {[]event.Body{not(tagcode.Out, coupler), passed(asked(removal.Part{What: removal.Coupler, Leg: 1, New: 9, Thinnest: 9}))}, nil},
		"a hook and a coupler, the hook measured": {[]event.Body{not(tagcode.Out, coupler, hook(1)), passed(asked())}, []event.Piece{coupler}},
		"the whole, and a sheet with all of it":   {[]event.Body{not(tagcode.Hold, whole), passed(asked())}, nil},
		"the whole, and a sheet with a part":      {[]event.Body{not(tagcode.Hold, whole), passed(strings.Replace(asked(), `"legs":2`, `"legs":3`, 1))}, []event.Piece{whole}},
		"nobody can read the sheet":               {[]event.Body{not(tagcode.Hold, whole, hook(1)), passed("{}")}, []event.Piece{whole, hook(1)}},
		"an examiner's danger, corrected":         {[]event.Body{measured("2026-03-01", 100), dangerous, examined()}, nil},
		"passed, danger, and corrected again":     {[]event.Body{measured("2026-03-01", 100), examined(), dangerous, dangerous, examined()}, nil},
		"danger, and another visit passes it":     {[]event.Body{measured("2026-03-01", 100), dangerous, elsewhere}, []event.Piece{whole}},
		"danger, something else, and corrected":   {[]event.Body{measured("2026-03-01", 100), dangerous, inspected(tagcode.Hold), examined()}, []event.Piece{whole}},
		"a hook, danger, and corrected":           {[]event.Body{not(tagcode.Out, hook(1)), dangerous, examined()}, []event.Piece{hook(1)}},
		"corrected to out, and put back":          {[]event.Body{measured("2026-03-01", 100), again(tagcode.Out, "2027-03-01"), again(tagcode.Hold, "2027-03-01"), again(tagcode.Fit, "2027-03-01")}, nil},
		"corrected to out, and put back longer":   {[]event.Body{measured("2026-03-01", 100), again(tagcode.Out, "2027-03-01"), again(tagcode.Fit, "2027-03-02")}, []event.Piece{whole}},
		"out, judged out too, and put back":       {[]event.Body{measured("2026-03-01", 100), again(tagcode.Out, "2027-03-01"), inspected(tagcode.Out), again(tagcode.Fit, "2027-03-01")}, []event.Piece{whole}},
		"a leg that it has not got":               {[]event.Body{not(tagcode.Out, hook(2), hook(1)), event.Corrected{Details: short}}, []event.Piece{hook(1), whole}},
		"chain and hook of a leg, only the hook":  {append([]event.Body{not(tagcode.Out, hook(1), event.Piece{Chain: true, Leg: 1})}, back(hook(1))...), []event.Piece{{Chain: true, Leg: 1}}},
	} {
		s := FoldSling(id, story(append([]event.Body{event.Registered{Details: details()}}, c.story...)...))
		if !slices.Equal(s.Failed, c.want) {
			t.Errorf("%s: %+v, want %+v", name, s.Failed, c.want)
		}
	}
}

// What is still to be done since it came back from repair is done by an inspection that
// has seen it since, and by a correction that has its stamp, and by nothing else.
func TestMended(t *testing.T) {
	back := []event.Body{event.Held{Reason: "r"}, event.SentOff{To: "maker"}, event.CameBack{From: "maker", Stamp: "12,300 lb"}}
	day := on("2026-03-04") // of the fourth event
	for name, c := range map[string]struct {
		then []event.Body
		want Mended
	}{
		"nothing yet":                      {nil, Mended{Day: day, Stamp: "12,300 lb"}},
		"inspected the day before":         {[]event.Body{measured("2026-03-03", 10)}, Mended{Day: day, Stamp: "12,300 lb"}},
		"inspected on the day":             {[]event.Body{measured("2026-03-04", 10)}, Mended{Stamp: "12,300 lb"}},
		"inspected and not passed":         {[]event.Body{inspected(tagcode.Hold)}, Mended{Day: day, Stamp: "12,300 lb"}},
		"corrected":                        {[]event.Body{event.Corrected{Details: held(), Reason: "hangs elsewhere"}}, Mended{Day: day, Stamp: "12,300 lb"}},
		"corrected by the stamp":           {[]event.Body{event.Corrected{Details: held(), Reason: "read", Restamped: true}}, Mended{Day: day}},
		"and repaired again, not stamped":  {[]event.Body{event.SentOff{To: "maker"}, event.CameBack{From: "maker"}}, Mended{Day: day.AddDays(2), Stamp: "12,300 lb"}},
		"retired":                          {[]event.Body{event.Retired{Reason: "r"}}, Mended{}},
		"corrected by the stamp, and fine": {[]event.Body{event.Corrected{Details: held(), Restamped: true}, measured("2026-03-05", 10)}, Mended{}},
	} {
		s := FoldSling(id, story(append(append([]event.Body{event.Registered{Details: details()}}, back...), c.then...)...))
		if s.Mended != c.want {
			t.Errorf("%s: %+v, want %+v", name, s.Mended, c.want)
		}
	}
}
