package event

import (
	"slices"

	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/strict"
)

// Dimension says what of a part a figure gives. The zero value is none.
type Dimension string

// The dimensions.
const (
	RunLength Dimension = "run"       // inside length over a number of links
	Reach     Dimension = "reach"     // bearing point to bearing point, pulled straight, unloaded
	LinkCount Dimension = "links"     // of a leg; Value is not used
	Throat    Dimension = "throat"    // opening of the hook, at its narrowest
	Section   Dimension = "section"   // of the hook where it bears
	Thickness Dimension = "thickness" // of any other part, where it bears
)

var dimensions = []Dimension{RunLength, Reach, LinkCount, Throat, Section, Thickness}

// Dimensions gives the closed list in its order.
func Dimensions() []Dimension { return slices.Clone(dimensions) }

// ParseDimension reads a dimension; known is false for any other word.
func ParseDimension(word string) (d Dimension, known bool) {
	return Dimension(word), slices.Contains(dimensions, Dimension(word))
}

// Basis says how the figure of a new part is known. The zero value is none.
type Basis string

// The bases. What a part measured when it was already worn is none of them.
const (
	FromMaker     Basis = "maker"     // the maker's dimension
	FromRecord    Basis = "record"    // measured on this part when it was new, and written down
	FromReference Basis = "reference" // measured by a qualified person on a like part known to be sound
)

var bases = []Basis{FromMaker, FromRecord, FromReference}

// Bases gives the closed list in its order.
func Bases() []Basis { return slices.Clone(bases) }

// ParseBasis reads a basis; known is false for any other word.
func ParseBasis(word string) (b Basis, known bool) {
	return Basis(word), slices.Contains(bases, Basis(word))
}

// FigureOf names the figure of one part: of hooks and chain by leg, of other parts
// by what they are as well. Leg is 0 for what all legs share. The zero value names
// none.
type FigureOf struct {
	Dimension Dimension
	What      removal.What // with Thickness only
	Leg       int          // 0 to 4
}

// Valid reports whether there can be such a figure.
func (f FigureOf) Valid() bool {
	if _, known := ParseDimension(string(f.Dimension)); !known || f.Leg < 0 || f.Leg > 4 {
		return false
	}
	if f.Dimension != Thickness {
		return f.What == 0 && f.Leg > 0
	}
	return f.What.String() != "" && (f.What != removal.Master || f.Leg == 0)
}

// A Figure is a dimension of a part as it was when new.
type Figure struct {
	Of     FigureOf
	Value  quantity.Length // whole µm; 0 for LinkCount
	Links  int64           // of a run, or the count of a leg; 0 for the rest
	Basis  Basis
	Source string // which drawing, certificate or part, in words
}

// Valid reports whether f says something that can be.
func (f Figure) Valid() bool {
	_, known := ParseBasis(string(f.Basis))
	length := f.Value >= removal.MinLength && f.Value <= removal.MaxLength
	counted := f.Links >= 1 && f.Links <= removal.MaxCount
	switch f.Of.Dimension {
	case RunLength:
		return known && f.Of.Valid() && length && counted
	case LinkCount:
		return known && f.Of.Valid() && f.Value == 0 && counted
	}
	return known && f.Of.Valid() && length && f.Links == 0
}

// ReadFigure reads a figure as bodies spell it. o may hold other names for its
// caller, who also calls o.Done.
func ReadFigure(o *strict.Object) Figure {
	f := Figure{
		Of:     readFigureOf(o),
		Value:  quantity.Length(o.Int("value_um", 0, int64(removal.MaxLength/quantity.Micrometre))) * quantity.Micrometre,
		Links:  o.Int("count", 0, removal.MaxCount),
		Basis:  Basis(o.Str("basis")),
		Source: o.Str("source"),
	}
	if !f.Valid() {
		o.Fail("of", "not a figure of a new part")
	}
	return f
}

func readFigureOf(o *strict.Object) FigureOf {
	of := FigureOf{Dimension: Dimension(o.Str("of")), Leg: int(o.Int("leg", 0, 4))}
	if word := o.Str("what"); word != "" {
		var known bool
		if of.What, known = removal.ParseWhat(word); !known {
			o.Fail("what", "not a part")
		}
	}
	if !of.Valid() {
		o.Fail("of", "not a dimension of such a part")
	}
	return of
}

func (f FigureOf) write(w *strict.Writer) {
	w.Str("of", string(f.Dimension))
	w.Str("what", f.What.String())
	w.Int("leg", int64(f.Leg))
}

// Write writes the members that ReadFigure reads.
func (f Figure) Write(w *strict.Writer) {
	f.Of.write(w)
	w.Int("value_um", f.Value.Micrometres())
	w.Int("count", f.Links)
	w.Str("basis", string(f.Basis))
	w.Str("source", f.Source)
}

// FiguresSet records dimensions of new parts. One that is known already is
// replaced: who said it before, and when, stays in the story.
type FiguresSet struct{ Figures []Figure }

// Kind is KindFiguresSet.
func (FiguresSet) Kind() Kind { return KindFiguresSet }

func readFiguresSet(o *strict.Object) (f FiguresSet) {
	for _, each := range o.Objs("figures") {
		f.Figures = append(f.Figures, ReadFigure(each))
	}
	return f
}

func (f FiguresSet) write(w *strict.Writer) {
	w.List("figures")
	for _, each := range f.Figures {
		w.Begin()
		each.Write(w)
		w.End()
	}
	w.End()
}
