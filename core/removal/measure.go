package removal

import (
	"cribgate/core/quantity"
	"cribgate/core/source"
)

// Kind says what a [Measure] measures. The zero Kind is nothing.
type Kind uint8

// The kinds of measures.
const (
	LeastDiameter Kind = iota + 1 // of a link, at its thinnest
	MeanDiameter                  // of a link, over two directions at right angles
	RunLength                     // over a number of links
	LegsApart                     // the longer of two runs of different legs, link for link
	ThroatOpening
	TipTwist
	HookSection
	PartThickness
)

// A Limit is where a measure gets a grade: by crossing it, never by reaching it.
type Limit struct {
	Grade  Grade
	At     quantity.Length // rounded as a Finding's Limit is; 0 for TipTwist
	Turn   quantity.Angle  // for TipTwist
	Clause source.Clause
}

// A Measure is one number with what it is held against, so that a page or a report
// draws it on a bar from new to its limit and does no arithmetic of its own.
type Measure struct {
	Kind   Kind
	Leg    int   // 0: of a part that all legs share
	Other  int   // for LegsApart the shorter leg
	Index  int   // of what was measured, in its list of [Found]; for LegsApart of the longer run
	At     int64 // of a link: its place in the leg
	Links  int64 // of a run
	What   What  // of a part
	New    quantity.Length
	Found  quantity.Length // for TipTwist 0
	Turn   quantity.Angle  // for TipTwist what was found
	Limits []Limit         // the lightest first; none where the new part is not known

	// Used is per mille of the way from new to the first limit above a note: over
	// 1000 exactly where that is crossed; 0 at new or on the other side of it.
	Used   int
	Grade  Grade         // of what was crossed; Hold where the new part is not known; 0 for nothing
	Clause source.Clause // of what was crossed, else of the first limit above a note

	Wear    quantity.Length // of a run: the growth that worn seats explain; see [Finding]
	Nominal bool            // New is the nominal pitch, for a run of which nobody knows more
}

// mostUsed is where Used ends.
const mostUsed = 1_000_000

// Measures gives every number of a question with its limits, which are those of
// [Assess]: links (own test, then the other system's), runs, pairs of runs of
// different legs, hooks (throat, twist, section), parts; each in the order given.
// It is nil for a question that Assess has no answer to.
func Measures(q Question) []Measure {
	if q.check() != nil {
		return nil
	}
	a := &assessment{sling: q.Sling, found: q.Found}
	var list []Measure
	for i, l := range q.Found.Links {
		for _, m := range a.linkMeasures(l) {
			m.Leg, m.At, m.Index = l.Leg, l.At, i
			list = append(list, m.judged())
		}
	}
	for i, r := range q.Found.Runs {
		list = append(list, a.runMeasure(i, r).judged())
	}
	for i, x := range q.Found.Runs {
		for j, y := range q.Found.Runs[i+1:] {
			if x.Leg != y.Leg {
				list = append(list, pairMeasure(i, i+1+j, x, y).judged())
			}
		}
	}
	for i, h := range q.Found.Hooks {
		list = append(list, hookMeasures(i, h)...)
	}
	for i, p := range q.Found.Parts {
		m := Measure{Kind: PartThickness, Leg: p.Leg, Index: i, What: p.What, New: p.New, Found: p.Thinnest}
		list = append(list, m.worn(source.PartWear).judged())
	}
	return list
}

func (a *assessment) linkMeasures(l Link) [2]Measure {
	own, other := a.sling.tests(l)
	measure := func(t thickness, g Grade) Measure {
		return Measure{Kind: t.kind, New: a.sling.Size.Nominal(), Found: t.value, Limits: []Limit{{Grade: g, At: t.limit, Clause: t.clause}}}
	}
	return [2]Measure{measure(own, Out), measure(other, Hold)}
}

func (a *assessment) runMeasure(i int, r Run) Measure {
	reference, steps := a.sling.reference(r)
	return Measure{
		Kind: RunLength, Leg: r.Leg, Index: i, Links: r.Links, New: reference, Found: r.Length, Nominal: r.New == 0, Wear: a.seatWear(r),
		Limits: limitsOf(steps, int64(reference), 1),
	}
}

func pairMeasure(i, j int, x, y Run) Measure {
	longer, shorter := byLink(x, y)
	if longer != x {
		i = j
	}
	alike := int64(shorter.Length) * longer.Links
	return Measure{
		Kind: LegsApart, Leg: longer.Leg, Other: shorter.Leg, Index: i, Links: longer.Links,
		New: quantity.Length(alike / shorter.Links), Found: longer.Length, Limits: limitsOf(differSteps[:], alike, shorter.Links),
	}
}

// limitsOf puts steps, the gravest first, in order, for a reference of whole/by.
func limitsOf(steps []step, whole, by int64) []Limit {
	limits := make([]Limit, len(steps))
	for i, s := range steps {
		limits[len(steps)-1-i] = Limit{Grade: s.grade, At: quantity.Length(whole * s.perMille / (by * 1000)), Clause: s.clause}
	}
	return limits
}

func hookMeasures(i int, h Hook) []Measure {
	throat := Measure{Kind: ThroatOpening, Leg: h.Leg, Index: i, New: h.ThroatNew, Found: h.Throat}
	if h.ThroatNew != 0 {
		throat.Limits = []Limit{{Grade: Out, At: h.ThroatNew + throatGrowth(h.ThroatNew)/100, Clause: source.ThroatOpening}}
	}
	twist := Measure{Kind: TipTwist, Leg: h.Leg, Index: i, Turn: h.Twist, Limits: make([]Limit, len(twistSteps))}
	for n, s := range twistSteps {
		twist.Limits[len(twistSteps)-1-n] = Limit{Grade: s.grade, Turn: s.more, Clause: s.clause}
	}
	section := Measure{Kind: HookSection, Leg: h.Leg, Index: i, New: h.SectionNew, Found: h.Section}
	return []Measure{throat.judged(), twist.judged(), section.worn(source.HookWear).judged()}
}

// worn gives a dimension that must not fall below nine tenths of itself its limit.
func (m Measure) worn(clause source.Clause) Measure {
	if m.New != 0 {
		m.Limits = []Limit{{Grade: Out, At: leastLeft(m.New), Clause: clause}}
	}
	return m
}

// shrinks tells whether less is worse.
func (k Kind) shrinks() bool {
	return k == LeastDiameter || k == MeanDiameter || k == HookSection || k == PartThickness
}

// judged says what of the limits is crossed, and how far the measure has gone. Limits
// are rounded so that whole micrometres cross the rounded one where they cross the
// exact one.
func (m Measure) judged() Measure {
	if len(m.Limits) == 0 {
		m.Grade, m.Clause = Hold, source.OriginalKnown
		return m
	}
	var fits Limit // the first limit above a note
	for _, l := range m.Limits {
		if l.Grade > Note && fits.Grade == 0 {
			fits = l
		}
		if way(m.Kind, int64(m.Found+quantity.Length(m.Turn)), int64(l.At+quantity.Length(l.Turn))) > 0 {
			m.Grade, m.Clause = l.Grade, l.Clause
		}
	}
	if m.Grade == 0 {
		m.Clause = fits.Clause
	}
	found, limit := int64(m.Found+quantity.Length(m.Turn)), int64(fits.At+quantity.Length(fits.Turn)) // one of each two is 0
	gone, whole := way(m.Kind, found, int64(m.New)), way(m.Kind, limit, int64(m.New))
	used := int64(0)
	if gone > 0 && whole > 0 {
		used = gone * 1000 / whole
	}
	if m.Grade > Note {
		used = max(used, 1001)
	} else {
		used = min(used, 1000)
	}
	m.Used = int(min(used, mostUsed))
	return m
}

// way is how far a figure lies from another on the way to what is worse.
func way(k Kind, to, from int64) int64 {
	if k.shrinks() {
		return from - to
	}
	return to - from
}

// Worst is the share of the worst measure that was used up, per mille; see
// [Measure]. It is 0 where nothing was measured.
func Worst(list []Measure) int {
	worst := 0
	for _, m := range list {
		worst = max(worst, m.Used)
	}
	return worst
}
