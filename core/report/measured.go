package report

import (
	"fmt"
	"strings"

	"cribgate/core/quantity"
	"cribgate/core/removal"
)

// A Row is one measurement in words.
type Row struct {
	What  string // which part, where
	New   string // of the new part; "not known" where it is not
	Found string
	Limit string // at which something follows, and what
	Rule  string // the clause of that limit
	Used  int    // per mille of the way from new to the first limit above a note
	Grade removal.Grade
}

// both gives a length as it was measured in the units that lead, and in the others.
func both(u quantity.Units, l quantity.Length) string {
	return u.Measured(l) + " (" + u.Other().Measured(l) + ")"
}

// bothLimit does so for a limit.
func bothLimit(u quantity.Units, l quantity.Length, most bool) string {
	return u.MeasuredLimit(l, most) + " (" + u.Other().MeasuredLimit(l, most) + ")"
}

// rows puts every measure into words; of two legs link for link the pair of runs that
// differs most.
func rows(u quantity.Units, list []removal.Measure) (out []Row) {
	worst := map[[2]int]int{}
	pair := func(m removal.Measure) [2]int { return [2]int{min(m.Leg, m.Other), max(m.Leg, m.Other)} }
	for i, m := range list {
		if at, known := worst[pair(m)]; m.Kind == removal.LegsApart && (!known || list[at].Used < m.Used) {
			worst[pair(m)] = i
		}
	}
	for i, m := range list {
		if m.Kind == removal.LegsApart && worst[pair(m)] != i {
			continue
		}
		r := Row{What: measureSays(m), New: "not known", Found: both(u, m.Found), Used: m.Used, Grade: m.Grade, Rule: m.Clause.Short()}
		if m.New > 0 {
			r.New = both(u, m.New)
			if m.Nominal {
				r.New += " (nominal)"
			}
		}
		if m.Kind == removal.TipTwist {
			r.New, r.Found = "0°", m.Turn.String()
		}
		var limits []string
		for _, l := range m.Limits {
			at := bothLimit(u, l.At, l.At > m.New)
			if m.Kind == removal.TipTwist {
				at = l.Turn.String()
			}
			limits = append(limits, fmt.Sprintf("%s: %s", at, l.Grade))
		}
		r.Limit = strings.Join(limits, "; ")
		if r.Limit == "" {
			r.Limit = "none without the dimension of the new part: held"
		}
		if growth := m.Found - m.New; m.Kind == removal.RunLength && m.Wear > 0 && growth > 0 {
			r.Found += fmt.Sprintf(", grown by %s, of which worn seats explain %s", both(u, growth), both(u, min(m.Wear, growth)))
		}
		out = append(out, r)
	}
	return out
}

func measureSays(m removal.Measure) string {
	leg := fmt.Sprintf("Leg %d", m.Leg)
	switch m.Kind {
	case removal.LeastDiameter:
		return fmt.Sprintf("%s, link %d: least diameter", leg, m.At)
	case removal.MeanDiameter:
		return fmt.Sprintf("%s, link %d: mean of two diameters", leg, m.At)
	case removal.RunLength:
		return fmt.Sprintf("%s: length over %d links", leg, m.Links)
	case removal.LegsApart:
		return fmt.Sprintf("%s beside leg %d: length over %d links, where they differ most", leg, m.Other, m.Links)
	case removal.ThroatOpening:
		return leg + ", hook: throat"
	case removal.TipTwist:
		return leg + ", hook: twist of the tip out of its plane"
	case removal.HookSection:
		return leg + ", hook: section"
	}
	what := strings.ToUpper(m.What.String()[:1]) + m.What.String()[1:]
	if m.Leg > 0 {
		return fmt.Sprintf("%s, %s: thinnest", leg, m.What)
	}
	return what + ": thinnest"
}

// findingSays puts one finding into words, with its figures and its clause.
func findingSays(u quantity.Units, f removal.Finding) string {
	var where []string
	if f.Leg > 0 {
		where = append(where, fmt.Sprintf("leg %d", f.Leg))
	}
	if f.At > 0 {
		where = append(where, fmt.Sprintf("link %d", f.At))
	}
	if f.What != 0 {
		where = append(where, f.What.String())
	}
	text := f.Code.Says()
	text = strings.ToUpper(text[:1]) + text[1:]
	if len(where) > 0 {
		text += " (" + strings.Join(where, ", ") + ")"
	}
	if f.HasFigures() {
		text += fmt.Sprintf(": found %s, limit %s", both(u, f.Value), bothLimit(u, f.Limit, f.Value > f.Limit))
	}
	return fmt.Sprintf("%s: %s. %s.", text, f.Grade, f.Clause)
}
