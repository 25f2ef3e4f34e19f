package card

import (
	"fmt"
	"strings"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/removal"
	"cribgate/core/source"
)

// inches tells whether there is a bar in inches too.
func (g Gauge) inches() bool { return g.Size.System() == rating.US }

func barName(i int) string { return string(rune('A' + i)) }

// barLength is what a check bar measures.
func (g Gauge) barLength(i int) string {
	if i == 2 {
		return "4.000 in"
	}
	return "100.0 mm"
}

// millimetre is a length in millimetres, rounded down to hundredths: the safe
// side for what must not be longer.
func millimetre(l quantity.Length) string {
	h := l / (10 * quantity.Micrometre)
	return fmt.Sprintf("%d.%02d\u00a0mm", h/100, h%100)
}

// inch is a least thickness in thousandths of an inch, rounded up.
func inch(l quantity.Length) string {
	n := (l*1000 + quantity.Inch - 1) / quantity.Inch
	return fmt.Sprintf("%d.%03d\u00a0in", n/1000, n%1000)
}

// voidWords say when the card is void.
func (g Gauge) voidWords(bars int) string {
	off := fmt.Sprintf("%d.%d", g.Tolerance/mm, g.Tolerance%mm/(100*quantity.Micrometre))
	text := fmt.Sprintf("Measure me before use, with a caliper or a steel rule: if bar A or bar B is not 100.0\u00a0mm ± %s\u00a0mm", off)
	if bars > 2 {
		thousandths := g.Tolerance * 4 * 1000 / check
		text += fmt.Sprintf(" (bar C 4.000\u00a0in ± 0.%03d\u00a0in)", thousandths)
	}
	return text + ", this card is void: throw it away."
}

// gradeWords say what package removal makes of what fails.
func gradeWords(g removal.Grade) string {
	switch g {
	case removal.Out:
		return "out of service"
	case removal.Hold:
		return "held"
	case removal.Note:
		return "noted"
	}
	return ""
}

// slotWords say how the comb is cut and used.
func (g Gauge) slotWords() string {
	text := "Print on stiff card. Cut the comb out along its outline, then cut away all of the black and leave none: a slot may be wider than drawn, never narrower. " +
		"Slacken the chain, push the next link aside and try each link where it bears and wherever it looks thin, both ways: flat over the link, and with a tooth through its eye. " +
		"If it goes into a slot by itself, in either way, at either end: out of use, mark it, give it to the inspector. " +
		"What does not go in has not passed: card gives way and wears. The inspector measures with a caliper."
	for i, s := range g.Slots {
		by := "the smaller diameter"
		if s.Mean {
			by = "the mean of two diameters at right angles"
		}
		text += fmt.Sprintf(" Slot\u00a0%d, %s (%s): least for %s, %s: %s.", i+1, noBreak(s.Least.String()), inch(s.Least), by, cited(s.Clause), gradeWords(s.Grade))
	}
	return text + " A weaker limit (" + cited(source.LinkMinimumCFR) + ") is not drawn."
}

// cited names a clause in few words.
func cited(c source.Clause) string { return strings.TrimSuffix(cite([]source.Clause{c}), ".") }

// lineLabel stands beside a line of the run.
func (g Gauge) lineLabel(i int) string {
	text := fmt.Sprintf("line %d, %s", i+1, millimetre(g.Lines[i].Most))
	if i == 0 {
		text += ": beyond it, out of use"
	}
	return text
}

// runWords say how the lane is used.
func (g Gauge) runWords() string {
	text := fmt.Sprintf("Lay the card on a flat board and the chain along it, pulled straight, without load. Take the same end of two links that lie the same way, %d links apart. "+
		"Bring the first end onto the right edge of START, never left of it, and look straight down or drop it with a square. "+
		"If the second end lies beyond the left edge of line 1, the chain is out of use: give it to the inspector, who measures more links with a tape, against their length when new. "+
		"What ends before line 1 has not passed: any growth that can be measured, and legs that no longer match, are a defect (%s). "+
		"Nominal is %d × 3 × %s (%s). On so short a run 1\u00a0mm is %s\u00a0%%; a print at the edge of the tolerance moves line %d by %s.",
		g.Links, cited(source.LegsMatch), g.Links, millimetre(g.Size.Nominal()), cited(source.PitchNominal), perCent(mm, g.Nominal),
		len(g.Lines), millimetre(g.Lines[len(g.Lines)-1].Most*g.Tolerance/check))
	text += " With the nominal for the length when new:"
	for i, l := range g.Lines {
		text += fmt.Sprintf(" beyond line\u00a0%d %s (%s);", i+1, gradeWords(l.Grade), cited(l.Clause))
	}
	return strings.TrimSuffix(text, ";") + "."
}

// perCent is a share in per cent with two digits, rounded up.
func perCent(part, whole quantity.Length) string {
	h := (part*10_000 + whole - 1) / whole
	return fmt.Sprintf("%d.%02d", h/100, h%100)
}

func (g Gauge) cautions() string {
	return "This card can only fail a chain. It stands in for no caliper, no tape and no thorough inspection. " + caution +
		" The grade makes no difference to these limits."
}
