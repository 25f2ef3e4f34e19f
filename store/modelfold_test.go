package store_test

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// facts are what matters at the counter, told a second time and as simply as can
// be: it knows stories that go straight on, and nothing of forks.
type facts struct {
	slings map[event.SlingID]plainSling
	people map[event.PersonID]plainPerson
	crib   plainCrib
}

type plainSling struct {
	stands   string // in, out, unchecked, held, lost, retired; "" before it is registered
	waits    bool   // it is held, or will be as soon as it comes back
	holder   event.PersonID
	due, on  quantity.Date // on: of the last inspection
	outcome  tagcode.Outcome
	place    string
	tags     map[tagcode.Serial]string // waits, live, replaced, spoiled
	left     map[tagcode.Serial]int    // per cent of the correction, of those that were read
	last     tagcode.Serial
	compared event.LogID
	passed   event.PersonID
	loan     event.LoanID
	area     string
	recalled string
	owes     []event.PersonID // in the order in which they brought it back first
	doubled  bool
	count    event.CountID // in which it was seen last
	seenAt   string
	issues   int
	events   int
	bench    plainBench
	defects  []int // that nobody has remedied, by number
	aside    event.SetAside
}

type plainPerson struct {
	known bool
	name  string
	roles event.Roles
	here  bool
	badge tagcode.Serial
	terms event.Terms
}

type plainCrib struct {
	founded bool
	key     tagcode.Fingerprint
	months  int
	log     event.LogID // that was begun by a restoration
	ahead   int
	floor   time.Time // against which the clock was last vouched for
	count   event.CountID
	strays  []int // that nobody has settled, by number
	last    int   // highest number of a stray
	pad     int   // highest number of a printed sheet
	visit   event.VisitID
}

func newFacts() facts {
	return facts{slings: map[event.SlingID]plainSling{}, people: map[event.PersonID]plainPerson{}}
}

func (s plainSling) live() tagcode.Serial {
	for serial, status := range s.tags {
		if status == "live" {
			return serial
		}
	}
	return 0
}

// add tells whether a fact can happen after what is known, and what is known then.
func (p *facts) add(subject event.Subject, log event.LogID, by event.PersonID, b event.Body) bool {
	switch subject.Kind() {
	case event.OfSling:
		s := p.slings[subject.Sling()]
		s.tags = maps.Clone(s.tags)
		s.left = maps.Clone(s.left)
		ok := s.add(log, by, b)
		if ok {
			s.events++
			p.slings[subject.Sling()] = s
		}
		return ok
	case event.OfPerson:
		who := p.people[subject.Person()]
		ok := who.add(subject.Person(), b)
		if ok {
			p.people[subject.Person()] = who
		}
		return ok
	}
	crib := p.crib
	ok := crib.add(log, b)
	if ok {
		p.crib = crib
	}
	return ok
}

func (c *plainCrib) add(log event.LogID, b event.Body) bool {
	if f, ok := b.(event.Founded); ok != !c.founded {
		return false
	} else if ok {
		c.founded, c.months = true, f.Policy.MaxMonths
		return true
	}
	switch b := b.(type) {
	case event.PolicySet:
		c.months = b.Policy.MaxMonths
	case event.KeyMade:
		c.key = b.Fingerprint
	case event.Restored:
		c.log = log
	case event.TagAhead:
		c.ahead++
	case event.DateConfirmed:
		c.floor = b.Floor
	case event.ClockCorrected:
		c.floor = b.Floor
	case event.PadPrinted:
		was := c.pad
		c.pad = b.Last
		return b.First == was+1
	case event.CountBegun:
		was := c.count
		c.count = b.Count
		return was.IsZero()
	case event.CountEnded:
		was := c.count
		c.count = event.CountID{}
		return was == b.Count
	case event.VisitBegun:
		was := c.visit
		c.visit = b.Visit
		return was.IsZero()
	case event.VisitEnded:
		was := c.visit
		c.visit = event.VisitID{}
		return was == b.Visit
	case event.Stray:
		was := c.last
		c.strays, c.last = append(slices.Clone(c.strays), b.No), b.No
		return b.No > was
	case event.StraySettled:
		i := slices.Index(c.strays, b.No)
		if i < 0 {
			return false
		}
		c.strays = slices.Delete(slices.Clone(c.strays), i, i+1)
	default:
		return false
	}
	return true
}

func (p *plainPerson) add(id event.PersonID, b event.Body) bool {
	if a, ok := b.(event.PersonAdded); ok != !p.known {
		return false
	} else if ok {
		*p = plainPerson{known: true, name: a.Name, roles: a.Roles, here: true, terms: a.Terms}
		return true
	}
	switch b := b.(type) {
	case event.PersonChanged:
		p.name, p.roles, p.here, p.terms = b.Name, b.Roles, b.Here, b.Terms
	case event.BadgePrinted:
		if b.Serial <= p.badge {
			return false
		}
		p.badge = b.Serial
	case event.PINSet, event.LiftPlanned, event.LiftGivenUp, event.LiftDrawn:
	case event.Erased:
		p.name = event.InsteadOf(id)
	default:
		return false
	}
	return true
}

func (s *plainSling) add(log event.LogID, by event.PersonID, b event.Body) bool {
	if r, ok := b.(event.Registered); ok != (s.stands == "") {
		return false
	} else if ok {
		s.stands, s.compared, s.tags = "in", log, map[tagcode.Serial]string{}
		s.left = map[tagcode.Serial]int{}
		s.records(r.Details)
		if r.Details.Sling.State.String() == "held" || bad(r.Details.Outcome) {
			s.stands, s.waits = "held", true
		}
		return true
	}
	is := func(states ...string) bool {
		for _, st := range states {
			if s.stands == st {
				return true
			}
		}
		return false
	}
	hold := func() {
		s.waits = true
		if is("in", "unchecked") {
			s.stands = "held"
		}
	}
	says := func(said event.Said) {
		if said != event.Nothing {
			hold()
			s.bench.says(said)
		}
	}
	home := func(stands string) { // off its loan
		s.stands, s.holder, s.loan, s.area, s.recalled = stands, event.PersonID{}, event.LoanID{}, "", ""
		if stands == "out" || stands == "retired" {
			s.aside = event.SetAside{}
		}
		if s.waits {
			hold()
		}
	}
	ok := true
	switch b := b.(type) {
	case event.Refused:
	case event.Corrected:
		if s.records(b.Details) {
			s.passed = event.PersonID{}
			if b.Details.Outcome == tagcode.Fit {
				s.passed = by
			}
		}
		if is("in", "out", "unchecked") && bad(b.Details.Outcome) {
			hold()
		}
	case event.Issued:
		ok = is("in")
		s.stands, s.holder, s.loan, s.passed, s.aside = "out", b.Rigger, b.Line.Loan, event.PersonID{}, event.SetAside{}
		s.issues++
	case event.Taken:
		ok = is("in", "held", "unchecked", "lost")
		s.waits = s.waits || s.stands == "unchecked" || s.stands == "lost"
		home("out")
		s.holder = b.Rigger
		s.issues++
	case event.HandedOn:
		ok = is("out") && b.From == s.holder
		s.holder = b.To
	case event.Placed:
		ok = is("out")
		s.area = b.Area
	case event.Recalled:
		ok = is("out")
		s.recalled = b.Reason
	case event.Returned:
		ok = is("out", "lost")
		home("in")
		says(b.Said)
		s.doubled = s.doubled || b.Doubled
		if b.Owes {
			s.owe(b.From)
		}
	case event.TakenIn:
		ok = is("in", "out", "lost")
		s.waits = s.waits || s.stands == "lost"
		home("unchecked")
		if !b.From.IsZero() {
			s.owe(b.From)
		}
	case event.Checked:
		ok = is("unchecked")
		s.stands = "in"
		says(b.Said)
	case event.Told:
		s.owes = slices.DeleteFunc(slices.Clone(s.owes), func(p event.PersonID) bool { return p == b.From })
		if !is("lost", "retired") {
			says(b.Said)
		}
	case event.SetAside:
		ok = is("in")
		s.aside = b
	case event.PutBack:
		if s.aside.Lift == b.Lift {
			s.aside = event.SetAside{}
		}
	case event.Seen:
		s.count, s.seenAt = b.Count, b.Place
	case event.Moved:
		s.place = b.Place
	case event.Held:
		ok = is("in", "held", "out", "unchecked")
		hold()
	case event.Released:
		ok = is("held") && !s.bench.seized && s.bench.repairer == ""
		s.stands, s.waits, s.bench.said = "in", false, ""
	case event.Inspected:
		ok = is("in", "held", "out", "unchecked")
		s.due, s.on, s.outcome, s.passed = b.Due, b.Date, b.Outcome, by
		if b.Sheet != nil {
			s.bench.wear = append(slices.Clone(s.bench.wear), wornAt{b.Date, b.Sheet.Used})
			if len(s.bench.wear) > 12 {
				s.bench.wear = s.bench.wear[1:]
			}
		}
		if bad(b.Outcome) {
			s.passed = event.PersonID{}
			hold()
		} else if is("unchecked") {
			s.stands = "in"
		}
	case event.Retired:
		ok = is("in", "held", "out", "lost", "unchecked") && !s.bench.seized
		s.waits, s.bench.said, s.bench.repairer, s.defects = false, "", "", nil
		home("retired")
	case event.Lost:
		ok = is("in", "held", "out", "unchecked")
		s.stands, s.aside = "lost", event.SetAside{} // the holder is who had it last
	case event.Found:
		ok = is("lost")
		home("in")
		hold()
	case event.Compared:
		ok = is("in", "held", "unchecked") && (b.Serial == 0 || b.Serial == s.live())
		s.compared = log
	case event.TagPrinted:
		ok = b.Serial > s.last
		s.last, s.tags[b.Serial] = b.Serial, "waits"
	case event.TagConfirmed:
		ok = s.tags[b.Serial] == "waits" || s.tags[b.Serial] == "live"
		for serial, status := range s.tags {
			if serial < b.Serial && status != "spoiled" {
				s.tags[serial] = "replaced"
			}
		}
		s.tags[b.Serial], s.compared, s.doubled = "live", log, false
	case event.TagSpoiled:
		ok = s.tags[b.Serial] == "waits"
		s.tags[b.Serial] = "spoiled"
	case event.Impounded:
		ok = is("in", "held", "out", "unchecked") && !s.bench.seized
		s.bench.seized, s.bench.holder = true, b.Holder
		hold()
	case event.Custody:
		ok = s.bench.seized
		s.bench.holder = b.Holder
	case event.Freed:
		ok = s.bench.seized
		s.bench.seized, s.bench.holder = false, ""
	case event.SentOff:
		ok = is("held") && !s.bench.seized && s.bench.repairer == ""
		s.bench.repairer = b.To
	case event.CameBack:
		ok = s.bench.repairer != ""
		s.bench.repairer, s.outcome = "", tagcode.Hold
		s.bench.changed(b.Changed)
		hold()
	case event.FiguresSet:
		s.bench.set(b.Figures[0])
	case event.Examined:
		ok = is("in", "held", "out", "unchecked")
		s.on, s.outcome = b.Date, tagcode.Fit
		danger := false
		for _, d := range b.Defects {
			s.bench.defect(&s.defects, d)
			danger = danger || d.By.IsZero()
		}
		if danger {
			s.outcome, s.passed = tagcode.Hold, event.PersonID{}
			hold()
			break
		}
		s.due = b.Due
		if is("unchecked") {
			s.stands = "in"
		}
	case event.Remedied:
		i := slices.Index(s.defects, b.No)
		if i < 0 {
			return false
		}
		s.defects = slices.Delete(slices.Clone(s.defects), i, i+1)
	case event.TagRead:
		ok = s.tags[b.Serial] != ""
		s.left[b.Serial] = b.Left()
	default:
		return false
	}
	return ok
}

// records takes details over, and tells whether those of the last inspection are
// others.
func (s *plainSling) records(d event.Details) bool {
	was := *s
	s.due, s.on, s.outcome, s.place = d.Sling.Due, d.Sling.Inspected, d.Outcome, d.Place
	return s.due != was.due || s.on != was.on || s.outcome != was.outcome
}

// owe adds somebody who has still to say what happened.
func (s *plainSling) owe(p event.PersonID) {
	if !slices.Contains(s.owes, p) {
		s.owes = append(slices.Clone(s.owes), p)
	}
}

func bad(o tagcode.Outcome) bool { return o == tagcode.Hold || o == tagcode.Out }

// differs tells where the present of a register is not what was told here.
func (p *facts) differs(ctx context.Context, r store.Reader) error {
	for id, want := range p.slings {
		s, err := r.Sling(ctx, id)
		if err != nil {
			return fmt.Errorf("sling %s: %w", id, err)
		}
		live, _ := s.Live()
		got := plainSling{
			stands: s.Details.Sling.State.String(), waits: s.Hold.Reason != "", holder: s.Loan.Rigger, due: s.Details.Sling.Due, on: s.Details.Sling.Inspected, outcome: s.Details.Outcome, place: s.Details.Place,
			last: s.NextSerial() - 1, compared: s.ComparedIn, passed: s.PassedBy, issues: s.Issues, events: s.Events, tags: map[tagcode.Serial]string{}, left: map[tagcode.Serial]int{},
			loan: s.Loan.Line.Loan, area: s.Loan.Area, recalled: s.Loan.Recall.Reason, doubled: !s.Doubled.IsZero(), count: s.Seen.Count, seenAt: s.Seen.Place, aside: s.Aside.SetAside,
			bench: benchOf(s),
		}
		for _, o := range s.Owes {
			got.owe(o.Rigger)
		}
		got.bench.remedies = want.bench.remedies // the order of the queue shows them
		for _, d := range s.Defects {
			got.defects = append(got.defects, d.No)
		}
		for _, t := range s.Tags {
			if t.Wear.Last != (state.Reading{}) {
				got.left[t.Serial] = t.Wear.Last.Left
			}
			got.tags[t.Serial] = map[state.TagStatus]string{state.TagPrinted: "waits", state.TagLive: "live", state.TagReplaced: "replaced", state.TagSpoiled: "spoiled"}[t.Status]
		}
		if !maps.Equal(got.tags, want.tags) || live.Serial != want.live() || s.Doubt != 0 || fmt.Sprint(got) != fmt.Sprint(want) {
			return fmt.Errorf("sling %s is %+v, doubt %b; want %+v", id, got, s.Doubt, want)
		}
	}
	for id, want := range p.people {
		s, err := r.Person(ctx, id)
		if got := (plainPerson{s.Name != "", s.Name, s.Roles, s.Here, s.Badge.Serial, s.Terms}); err != nil || got != want || s.Doubt != 0 {
			return fmt.Errorf("person %s is %+v, doubt %b, %w; want %+v", id, got, s.Doubt, err, want)
		}
	}
	crib, err := r.Crib(ctx)
	if err != nil {
		return err
	}
	want := p.crib
	if crib.Visit.Visit != want.visit || crib.Key() != want.key || crib.Founded.Policy.MaxMonths != want.months || crib.Restored.Log != want.log || len(crib.Ahead) != want.ahead || !crib.Vouched.Floor.Equal(want.floor) || crib.Doubt != 0 ||
		crib.Count.ID != want.count || crib.LastNo != want.last || crib.LastPad != want.pad || !slices.EqualFunc(crib.Strays, want.strays, func(s state.Stray, no int) bool { return s.No == no }) {
		return fmt.Errorf("the crib is %+v, want %+v", crib, want)
	}
	return nil
}
