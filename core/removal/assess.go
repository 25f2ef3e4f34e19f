package removal

import (
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/source"
)

// Answer is the verdict and all that led to it. The zero Answer holds.
type Answer struct {
	ID       string
	Verdict  Verdict
	Findings []Finding
}

// Finding is one criterion that a sling did not meet. Fields that do not belong
// to its Code are zero.
type Finding struct {
	Code  Code
	Grade Grade
	Leg   int
	At    int64 // place of the link in its leg
	What  What
	Value quantity.Length // as found; a mean is rounded down
	Limit quantity.Length // an upper limit is rounded down, a lower one up
	// Wear is the part of a run's growth that the measured wear of its links'
	// seats explains. It is shown to the inspector as wear and changes no grade.
	Wear   quantity.Length
	Clause source.Clause
}

// HasFigures tells whether Value and Limit belong to the finding.
func (f Finding) HasFigures() bool { return f.Code.row().figures }

type assessment struct {
	sling    Sling
	found    Found
	findings []Finding
}

func (a *assessment) add(f Finding) { a.findings = append(a.findings, f) }

// Assess holds what was found against every criterion. Findings come in this
// order: links, runs, pairs of runs, hooks (each: throat, twist, section,
// latch), parts, what was not measured, what was seen; each in the order given.
// The error wraps ErrQuestion, and the Answer then holds and has no findings.
func Assess(q Question) (Answer, error) {
	if err := q.check(); err != nil {
		return Answer{ID: q.ID}, fmt.Errorf("removal: assess %q: %w", q.ID, err)
	}
	a := &assessment{sling: q.Sling, found: q.Found}
	for _, l := range a.found.Links {
		a.assessLink(l)
	}
	for _, r := range a.found.Runs {
		a.assessRun(r)
	}
	for i, x := range a.found.Runs {
		for _, y := range a.found.Runs[i+1:] {
			a.assessPair(x, y)
		}
	}
	for _, h := range a.found.Hooks {
		a.assessHook(h)
	}
	for _, p := range a.found.Parts {
		a.assessPart(p)
	}
	a.unmeasured()
	for _, c := range a.found.Seen {
		a.add(Finding{Code: c, Grade: c.row().seen, Clause: c.row().clause})
	}
	return Answer{ID: q.ID, Verdict: verdict(a.findings), Findings: a.findings}, nil
}

// unmeasured holds a sling without a master link measured, and every leg
// without a link, a run and a hook or other part of its own.
func (a *assessment) unmeasured() {
	var links, runs, ends [5]bool // by leg
	master := false
	for _, l := range a.found.Links {
		links[l.Leg] = true
	}
	for _, r := range a.found.Runs {
		runs[r.Leg] = true
	}
	for _, h := range a.found.Hooks {
		ends[h.Leg] = true
	}
	for _, p := range a.found.Parts {
		ends[p.Leg] = true // leg 0, shared, is asked for by nobody
		master = master || p.What == Master
	}
	if !master {
		a.add(Finding{Code: NotMeasured, Grade: Hold, What: Master, Clause: source.MeasuredWhole})
	}
	for leg := 1; leg <= a.sling.Legs; leg++ {
		if !links[leg] || !runs[leg] || !ends[leg] {
			a.add(Finding{Code: NotMeasured, Grade: Hold, Leg: leg, Clause: source.MeasuredWhole})
		}
	}
}

// verdict is the gravest grade above a note.
func verdict(findings []Finding) Verdict {
	gravest := Note
	for _, f := range findings {
		gravest = max(gravest, f.Grade)
	}
	switch gravest {
	case Note:
		return Fit
	case Hold:
		return Held
	}
	return OutOfService
}
