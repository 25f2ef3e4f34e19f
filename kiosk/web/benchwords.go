package web

import (
	"strings"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
)

// A Bar shows how far a number has gone from new to its limit. Figures are on the
// scale of its drawing, on which new is 0.
type Bar struct {
	Row   string // the row it stands in
	Words string // all of it, for those who do not see it drawn
	Used  int
	Wear  int // how much of it worn seats explain
	Marks []BarMark
	Grade string // note, hold, out; empty: within its limit
	Rule  string
}

// A BarMark is a limit on a bar.
type BarMark struct {
	At    int
	Grade string
}

// The scale of a bar: the first limit above a note lies at barLimit, and the bar ends
// at barEnd.
const (
	barLimit = 600
	barEnd   = 1000
)

func onBar(perMille int) int { return min(max(0, perMille)*barLimit/1000, barEnd) }

// way is where a length lies on the bar of a measure.
func barAt(m removal.Measure, l quantity.Length, fits removal.Limit) int {
	whole := int64(fits.At - m.New)
	if whole == 0 {
		return 0
	}
	return onBar(int(int64(l-m.New) * 1000 / whole))
}

// fitsTo is the first limit above a note.
func fitsTo(m removal.Measure) removal.Limit {
	for _, l := range m.Limits {
		if l.Grade > removal.Note {
			return l
		}
	}
	return removal.Limit{}
}

// bar draws a measure.
func (w words) bar(m removal.Measure, row string) Bar {
	b := Bar{Row: row, Used: onBar(m.Used), Rule: w.cites(m.Clause)}
	if m.Grade > 0 {
		b.Grade = m.Grade.String()
	}
	fits := fitsTo(m)
	if fits.Grade == 0 {
		b.Words = upperFirst(w.measureName(m)) + ": what it was when new is not on record. Held until it is."
		return b
	}
	if m.Kind == removal.TipTwist {
		b.Words = "Tip twisted out of the hook’s plane by " + m.Turn.String() + "; at most " + fits.Turn.String()
		for _, l := range m.Limits {
			b.Marks = append(b.Marks, BarMark{At: onBar(int(l.Turn * 1000 / fits.Turn)), Grade: l.Grade.String()})
		}
		b.Words += w.crossed(m)
		return b
	}
	grows := fits.At > m.New
	bound := "at least "
	if grows {
		bound = "at most "
	}
	from := "new "
	if m.Nominal {
		from = "by the nominal pitch "
	}
	if m.Kind == removal.LegsApart {
		from = "like leg " + itoa(m.Other) + " "
	}
	b.Words = upperFirst(w.measureName(m)) + " " + w.lead.Measured(m.Found) + "; " + bound + w.lead.MeasuredLimit(fits.At, grows) + ", " + from + w.lead.Measured(m.New)
	for _, l := range m.Limits {
		b.Marks = append(b.Marks, BarMark{At: barAt(m, l.At, fits), Grade: l.Grade.String()})
	}
	if growth := m.Found - m.New; m.Kind == removal.RunLength && growth > 0 && m.Wear > 0 {
		b.Wear = barAt(m, m.New+min(m.Wear, growth), fits)
		b.Words += "; grown by " + w.lead.Measured(growth) + ", of which worn seats explain " + w.lead.Measured(min(m.Wear, growth))
	}
	b.Words += w.crossed(m)
	return b
}

// crossed says which limit a measure has crossed.
func (w words) crossed(m removal.Measure) string {
	switch m.Grade {
	case removal.Out:
		return ". Out of service."
	case removal.Hold:
		return ". Held: a " + w.rules.Judge() + " decides."
	case removal.Note:
		return ". Watch it."
	}
	return "."
}

func (w words) measureName(m removal.Measure) string {
	switch m.Kind {
	case removal.LeastDiameter:
		return "thinnest"
	case removal.MeanDiameter:
		return "mean of two"
	case removal.RunLength:
		return itoa(int(m.Links)) + " links"
	case removal.LegsApart:
		return "longer than leg " + itoa(m.Other) + ", link for link:"
	case removal.ThroatOpening:
		return "throat"
	case removal.TipTwist:
		return "twist"
	case removal.HookSection:
		return "section"
	}
	return strings.ToLower(partLabels[m.What])
}

// bars gives, for each row, the bars of what was typed there: of a link the test that
// has gone further, of legs that differ the worst pair, of everything else all.
func (w words) bars(r *sheetRead, list []removal.Measure) map[string][]Bar {
	type key struct {
		row  string
		kind removal.Kind
	}
	worst := map[key]int{}
	for i, m := range list {
		k := key{r.fieldOf(m), m.Kind}
		switch m.Kind {
		case removal.MeanDiameter:
			k.kind = removal.LeastDiameter
		case removal.LegsApart:
			if m.Grade == 0 {
				continue
			}
		}
		if at, known := worst[k]; !known || list[at].Grade < m.Grade || list[at].Grade == m.Grade && list[at].Used < m.Used {
			worst[k] = i
		}
	}
	bars := map[string][]Bar{}
	for i, m := range list {
		for k, at := range worst {
			if at == i {
				bars[k.row] = append(bars[k.row], w.bar(m, k.row))
			}
		}
	}
	return bars
}

// A BenchFinding is one criterion that a sling does not meet.
type BenchFinding struct {
	Grade    string // note, hold, out
	Word     string // the same for people
	Where    string
	Sentence string
	Rule     string
}

// finding puts a finding into words.
func (w words) finding(f removal.Finding) BenchFinding {
	b := BenchFinding{Grade: f.Grade.String(), Sentence: w.say(upperFirst(f.Code.Says())), Rule: w.cites(f.Clause)}
	switch f.Grade {
	case removal.Out:
		b.Word = "Out"
	case removal.Hold:
		b.Word = "Hold"
	default:
		b.Word = "Watch"
	}
	if f.Leg > 0 {
		b.Where = "Leg " + itoa(f.Leg)
	}
	if f.At > 0 {
		b.Where += ", link " + itoa(int(f.At)) + " from the ring"
	}
	if f.What != 0 {
		part := partLabels[f.What]
		if b.Where != "" {
			part = ", " + strings.ToLower(part)
		}
		b.Where += part
	}
	if f.HasFigures() {
		up := f.Value > f.Limit
		bound := "least"
		if up {
			bound = "most"
		}
		b.Sentence += ": " + w.lead.Measured(f.Value) + ", " + bound + " " + w.lead.MeasuredLimit(f.Limit, up)
	}
	b.Sentence += "."
	return b
}

// metal puts what the gate has against the metal into words.
func (w words) metal(r gate.Reason, a gate.Answer) BenchFinding {
	text := w.says(r, a)
	return BenchFinding{Grade: "hold", Word: "Never out", Sentence: text.Sentence, Rule: text.Rule}
}
