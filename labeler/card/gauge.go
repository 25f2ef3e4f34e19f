package card

import (
	"errors"
	"fmt"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/removal"
)

// A Paper is a sheet that a go/no-go card is printed on, lying.
type Paper struct {
	Name          string
	Width, Height quantity.Length
}

// Papers lists the sheets: ISO 216 for the A sizes, ANSI/ASME Y14.1 for letter
// and ledger (both from memory, not seen).
func Papers() []Paper {
	return []Paper{
		{"a4", 297 * mm, 210 * mm},
		{"a3", 420 * mm, 297 * mm},
		{"letter", 11 * quantity.Inch, 8*quantity.Inch + quantity.Inch/2},
		{"ledger", 17 * quantity.Inch, 11 * quantity.Inch},
	}
}

// ErrNoPaper is what ParsePaper wraps for a name that no sheet has.
var ErrNoPaper = errors.New("no such paper")

// ParsePaper finds a sheet by its name; an empty name gives the usual one of a
// system, A4 or letter.
func ParsePaper(name string, s rating.System) (Paper, error) {
	if name == "" {
		name = "a4"
		if s == rating.US {
			name = "letter"
		}
	}
	for _, p := range Papers() {
		if p.Name == name {
			return p, nil
		}
	}
	return Paper{}, fmt.Errorf("card: paper %q: %w", name, ErrNoPaper)
}

// ErrNoRoom is what a Gauge's errors wrap where its paper is too small for the
// chain size. It comes with the figure.
var ErrNoRoom = errors.New("card does not fit the paper")

// A Gauge is a go/no-go card for a chain size.
type Gauge struct {
	Grade rating.Grade
	Size  rating.Size
	Paper Paper

	Slots   []Slot          // for links, the stricter first
	Links   int64           // of the run that fits on the paper
	Nominal quantity.Length // of that run
	Lines   []Line          // for the run, the shortest first
	// Tolerance is how far the 100 mm bars may be off before the card is void.
	Tolerance quantity.Length
}

// Figures of the tolerance.
const (
	// check is the length of the bars that are measured before use.
	check = 100 * mm
	// drawnTo is how far off a printed slot may be: a dot of 600 to the inch is
	// 0.042 mm (common practice, no source).
	drawnTo = 50 * quantity.Micrometre
	// mostOff is never passed, however small the slot: 0.3 % is less than the
	// least growth that a run is noted for (common practice, no source).
	mostOff = 300 * quantity.Micrometre
	// offStep is the least step of the tolerance that a caliper or a good rule
	// tells.
	offStep = 100 * quantity.Micrometre
)

// NewGauge finds the limits of a chain size. It fails with ErrNoRoom where not even two links fit along the paper.
func NewGauge(grade rating.Grade, size rating.Size, paper Paper) (Gauge, error) {
	g := Gauge{Grade: grade, Size: size, Paper: paper}
	var err error
	if g.Slots, err = slots(grade, size); err != nil {
		return Gauge{}, err
	}
	// The same end of two links that lie alike: an even number apart.
	for links := int64(2); ; links += 2 {
		all, err := lines(grade, size, links)
		if err != nil {
			return Gauge{}, err
		}
		if len(all) == 0 {
			return Gauge{}, fmt.Errorf("card: no limit of growth for %s", size.Words())
		}
		need := runLeft + all[len(all)-1].Most + lineWidth + runRight
		if need > paper.Width {
			break
		}
		g.Links, g.Nominal, g.Lines = links, removal.NominalRun(size, links), all
	}
	if g.Links == 0 {
		all, err := lines(grade, size, 2)
		if err != nil {
			return Gauge{}, err
		}
		return Gauge{}, fmt.Errorf("card: %w: two links of %s chain need %s along it and %s is %s wide",
			ErrNoRoom, size.Words(), runLeft+all[len(all)-1].Most+lineWidth+runRight, paper.Name, paper.Width)
	}
	g.Tolerance = tolerance(g.Slots[0].Least)
	return g, nil
}

// tolerance is the error of scale over the check bars that moves the widest slot
// by no more than drawnTo, rounded down.
func tolerance(slot quantity.Length) quantity.Length {
	off := check * drawnTo / slot
	return min(mostOff, off/offStep*offStep)
}
