package web

import (
	"net/http"
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/kiosk/bench"
	"cribgate/kiosk/counter"
)

// InspectionPage is one step of a thorough inspection.
type InspectionPage struct {
	Base
	Ident   string
	MakeUp  string
	Story   string // address
	Why     string // why it lies on the bench
	Figures string // address of what its parts measured when new
	Unknown string // what of that is not on record
	Failed  string // what failed before, and is there still
	Act     string // where the step goes
	Check   string // where it is judged while it is filled in
	Step    string
	Heads   string
	Steps   []BenchStep
	Stopped Stopped
	Rows    []BenchSection
	Photos  PhotoForm
	Sign    SignSheet
	Live    BenchLive
	Next    Action
	Begun   string // that a draft is there, and whose
	Aside   string // where it is laid aside; empty where there is none
}

// A BenchStep is one of the steps at the top of the page.
type BenchStep struct {
	Title string
	Path  string
	Here  bool
	Done  string // of how many, where it counts
}

// Stopped says that somebody else has the draft. The zero value does not.
type Stopped struct {
	Title    string
	Sentence string
	Note     string
	Path     string // where it is taken over
	Revision int64
}

// A BenchSection is some rows under a heading.
type BenchSection struct {
	Title  string
	Hint   string
	Across bool // its rows stand side by side where there is room
	Rows   []BenchRow
}

// A BenchRow is fields side by side, with what is said of them.
type BenchRow struct {
	Name    string // names the place of its bars
	Place   bool   // its first field is a place, and small
	Title   string
	Gauges  []GaugeField
	Pair    []Field // side by side
	Field   *Field
	Area    *Area
	Choice  *Choice
	Ticks   []Option // of which several may be true, each a field of its own
	Drawn   bool     // the ticks have drawings
	HasBars bool
	Bars    []Bar
}

// A GaugeField is a field for a number off a gauge.
type GaugeField struct {
	Name  string
	Label string
	Value string
	Unit  string
	Mode  string
	Hint  string
	Says  FieldSays
	Focus bool
}

// BenchLive is what changes while a step is filled in.
type BenchLive struct {
	Revision int64
	Saved    string
	Problem  string // why it is not saved any more
	Again    string // where the page is loaded again
	Aside    BenchAside
}

// BenchAside is what follows from what was found so far.
type BenchAside struct {
	Verdict  Verdict
	Word     string
	Sentence string
	Findings []BenchFinding
	Todo     []string
	Caution  string
}

// benchSling finds the sling of a page of the bench.
func (s *Server) benchSling(v *visit) (state.Sling, error) {
	sling, err := s.findSling(v)
	if err != nil {
		return state.Sling{}, err
	}
	if !slices.Contains(inUse, sling.Details.Sling.State) {
		return state.Sling{}, &Visible{Code: Stale, Sentence: "This sling is not in use any more.", Next: "Look at its story."}
	}
	return sling, nil
}

func (s *Server) inspectionPage(v *visit) error {
	sling, err := s.benchSling(v)
	if err != nil {
		return err
	}
	return s.renderInspection(v, http.StatusOK, sling, benchState{step: v.r.URL.Query().Get("step")})
}

// A benchState is what a form of the bench came to. The zero value is a page that is
// looked at.
type benchState struct {
	step    string
	typed   map[string]string // what was sent and could not be saved
	wrong   complaints
	whole   string
	problem string
}

func (s *Server) renderInspection(v *visit, status int, sling state.Sling, was benchState) error {
	ctx := v.r.Context()
	draft, err := s.Bench.Draft(ctx, sling.ID.String())
	if err != nil {
		return benchError(err)
	}
	names, err := s.names(v)
	if err != nil {
		return err
	}
	w := v.wordsOf(names)
	steps := stepsOf(sling)
	at := slices.IndexFunc(steps, func(st step) bool { return st.name == was.step })
	if was.step == "" {
		at = 0
	}
	if at < 0 {
		return errNoPage
	}
	fields := map[string]string{}
	for _, from := range []map[string]string{draft.Fields, was.typed} {
		for name, value := range from {
			fields[name] = value
		}
	}
	last, err := s.lastWorn(v, sling)
	if err != nil {
		return err
	}
	b := benchPage{s: s, v: v, w: w, sling: sling, fields: fields, wrong: was.wrong, last: last, read: readSheet(sling, fields, w)}
	path := benchPath + slingPath(sling)[len("/rack"):]
	p := &InspectionPage{
		Base: Base{Title: sling.Details.Ident + ": " + steps[at].title}, Ident: sling.Details.Ident, MakeUp: w.makeUp(sling.Details.Sling.Plate), Story: slingPath(sling),
		Why: w.gravity(sling, v.today), Figures: path + "/new", Unknown: unknownFigures(sling), Failed: failedSays(sling), Act: path, Check: path + "/check",
		Step: steps[at].name, Heads: headsText(sling.Heads),
	}
	for i, st := range steps {
		p.Steps = append(p.Steps, BenchStep{Title: st.title, Path: path + "?step=" + st.name, Here: i == at, Done: b.done(st)})
	}
	if draft.Revision > 0 {
		p.Begun = "Begun " + w.clock(draft.Begun) + " by " + w.draftName(draft)
		p.Aside = path + "/aside"
	}
	if me := v.who.ID.String(); draft.HeldFrom(me) || draft.Aside && draft.Who != me {
		p.Stopped = w.stopped(draft, path)
	}
	p.Live = b.live(draft)
	p.Live.Problem, p.Live.Again = was.problem, p.Steps[at].Path
	b.judge()
	p.Rows = b.rows(steps[at])
	switch steps[at].name {
	case "seen":
		p.Photos = b.photos(path, draft.Revision)
	case "sign":
		if p.Sign, err = b.sign(path, was.whole); err != nil {
			return err
		}
	}
	if at+1 < len(steps) {
		p.Next = Action{Label: "Next: " + steps[at+1].title, Sub: "saves this page first", Name: "go", Value: steps[at+1].name, First: true}
	}
	return s.render(v, status, "on-bench", p)
}

// draftName names whose a draft is.
func (w words) draftName(d bench.Draft) string {
	id, err := event.ParsePersonID(d.Who)
	if err != nil {
		return "somebody"
	}
	return w.name(id)
}

// stopped says who has a draft.
func (w words) stopped(d bench.Draft, path string) Stopped {
	st := Stopped{Title: "Somebody else has it", Path: path + "/take", Revision: d.Revision}
	if d.Aside {
		st.Title = "Laid aside"
		st.Sentence = w.draftName(d) + " laid this inspection aside on " + w.clock(d.Saved) + "."
		st.Note = "Take it up to go on where it stands."
		return st
	}
	st.Sentence = w.draftName(d) + " is inspecting this sling, and saved something last on " + w.clock(d.Saved) + "."
	st.Note = "Ask them first. If you take it over, everything they typed stays, and they are told when they type on."
	return st
}

// lastWorn says where each leg was thinnest in the last inspection that has a sheet.
func (s *Server) lastWorn(v *visit, sling state.Sling) (map[int]wornAt, error) {
	worn := map[int]wornAt{}
	if len(sling.Wear) == 0 {
		return worn, nil
	}
	story, err := s.Store.Story(v.r.Context(), event.Sling(sling.ID))
	if err != nil {
		return nil, err
	}
	for _, r := range slices.Backward(story) {
		b, ok := r.Body.(event.Inspected)
		if !ok || b.Sheet == nil {
			continue
		}
		q, err := removal.ParseQuestion([]byte(b.Sheet.Verdict.Question))
		if err != nil {
			return worn, nil // of another program: nothing is pointed to
		}
		for _, l := range q.Found.Links {
			if d := min(l.D1, l.D2); worn[l.Leg].at == 0 || d < worn[l.Leg].d {
				worn[l.Leg] = wornAt{at: l.At, d: d, when: b.Date}
			}
		}
		return worn, nil
	}
	return worn, nil
}

// live is what follows from a draft as it stands.
func (b *benchPage) live(d bench.Draft) BenchLive {
	l := BenchLive{Revision: d.Revision, Aside: b.aside()}
	if d.Revision > 0 {
		l.Saved = "Saved " + b.w.clock(d.Saved) + "."
	}
	return l
}

// assessed asks the criteria about what was read.
func (b *benchPage) assessed() (removal.Question, removal.Answer, error) {
	q := counter.SheetQuestion(b.sling, counter.Looked(b.read.found, ratingTags[b.fields["rating-tag"]]))
	a, err := removal.Assess(q)
	return q, a, err
}

// aside puts the verdict so far into words.
func (b *benchPage) aside() BenchAside {
	out := BenchAside{Verdict: LookCloser, Word: "Not finished"}
	_, a, err := b.assessed()
	if err != nil {
		out.Sentence = "What is recorded of this sling cannot be judged. Correct its details first."
		return out
	}
	gravest := removal.Note
	for _, f := range a.Findings {
		if f.Code == removal.NotMeasured {
			continue
		}
		gravest = max(gravest, f.Grade)
		out.Findings = append(out.Findings, b.w.finding(f))
	}
	// What is graver stands first, and what is equally grave in the order of the list.
	weight := map[string]int{"out": 0, "hold": 1, "note": 2}
	slices.SortStableFunc(out.Findings, func(x, y BenchFinding) int { return weight[x.Grade] - weight[y.Grade] })
	if metal, err := counter.Metal(b.sling, b.v.crib.Founded.Policy, b.v.today); err != nil || len(metal) > 0 {
		gravest = max(gravest, removal.Hold)
		answer, _ := gate.Explain(counter.Question(b.sling, b.v.crib.Founded.Policy, b.v.today, nil))
		for _, r := range metal {
			out.Findings = append([]BenchFinding{b.w.metal(r, answer)}, out.Findings...)
		}
	}
	out.Todo = b.todo()
	judge := b.w.rules.Judge()
	switch {
	case gravest == removal.Out:
		out.Verdict, out.Word, out.Sentence = StaysHere, "Out of service", "It leaves service now, or goes to its maker."
	case gravest == removal.Hold:
		out.Verdict, out.Word, out.Sentence = StaysHere, "To be held", "A "+judge+" decides before it goes out again."
	case len(out.Todo) > 0:
		out.Sentence = "Nothing against it so far."
	default:
		out.Verdict, out.Word, out.Sentence = MayGo, "Nothing found", "Nothing that was measured or ticked is against it. Whether it is fit, you decide."
	}
	return out
}
