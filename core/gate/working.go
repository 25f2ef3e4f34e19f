package gate

import (
	"strconv"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

// Step is one step of a working: what was found, its figure, and the clause it
// follows. The steps of an answer stand in the order of the arithmetic, so that
// a page or a report shows how a figure came about and never computes it again.
type Step struct {
	What   string
	Figure Figure
	Source source.Clause
}

// Figure is the value of a step: a mass, a factor, an angle or words. The zero
// Figure is no value.
type Figure struct {
	kind  figureKind
	mass  quantity.Mass
	ratio quantity.Ratio
	angle quantity.Angle
	words string
}

type figureKind uint8

const (
	noFigure figureKind = iota
	massFigure
	factorFigure
	angleFigure
	wordFigure
)

// Text is the figure for people: a mass in the units asked for, a factor as a
// decimal ("× 0.8"), an angle in degrees; empty for no value.
func (f Figure) Text(u quantity.Units) string {
	switch f.kind {
	case massFigure:
		return u.Mass(f.mass)
	case factorFigure:
		return "× " + strconv.FormatFloat(float64(f.ratio.Num)/float64(f.ratio.Den), 'f', -1, 64)
	case angleFigure:
		return f.angle.String()
	case wordFigure:
		return f.words
	}
	return ""
}

// Mass is the figure's mass; false where it is none.
func (f Figure) Mass() (quantity.Mass, bool) { return f.mass, f.kind == massFigure }

// Factor is the figure's factor; false where it is none.
func (f Figure) Factor() (quantity.Ratio, bool) { return f.ratio, f.kind == factorFigure }

// Angle is the figure's angle; false where it is none.
func (f Figure) Angle() (quantity.Angle, bool) { return f.angle, f.kind == angleFigure }

func (d *decision) step(what string, f Figure, from source.Clause) {
	if d.working {
		d.steps = append(d.steps, Step{what, f, from})
	}
}

func (d *decision) mass(what string, p quantity.Product, from source.Clause) {
	d.step(what, Figure{kind: massFigure, mass: p.Floor()}, from)
}

// massAt is mass with the basis in words, which are put together only where they
// are kept.
func (d *decision) massAt(what string, b rating.Basis, p quantity.Product, from source.Clause) {
	if d.working {
		d.mass(what+", "+b.Words(), p, from)
	}
}

func (d *decision) factor(what string, r quantity.Ratio, from source.Clause) {
	d.step(what, Figure{kind: factorFigure, ratio: r}, from)
}

func (d *decision) angle(what string, a quantity.Angle, from source.Clause) {
	d.step(what, Figure{kind: angleFigure, angle: a}, from)
}

func (d *decision) note(what, words string, from source.Clause) {
	d.step(what, Figure{kind: wordFigure, words: words}, from)
}
