// Package printtemplates holds the stocks: what a blank looks like and what is
// printed where on it. Most are tags; [Kind] says what else there is. Each stock is one data file, NAME.json, embedded
// in the program; adding one needs no code. README.md beside this file teaches
// how, field by field.
//
// [List] names the stocks, [Open] reads one and [Parse] reads a stock's text.
// Reading is strict: an unknown or doubled name, a missing field, a word that
// is not in its closed list and a figure out of range are refused, each with
// its path. Whether what is printed fits the blank (text at its smallest type,
// modules, hole, quiet zone) is judged where it is laid out, with the fonts.
//
// Lengths are in whole micrometres from the top left corner of the blank, x to
// the right and y downward. A type size is the height of the type's em, the
// usual measure: 1 pt is 352.8 µm.
package printtemplates

import "cribgate/core/quantity"

// A Point is a place on the blank.
type Point struct{ X, Y quantity.Length }

// A Box is an area of the blank. One without a Width is none.
type Box struct {
	At            Point // top left corner
	Width, Height quantity.Length
}

// A Stock is one kind of blank with its layout. The zero Stock has no size
// and prints nothing. A Stock is not changed after it is read.
type Stock struct {
	Name     string // file name without its ending
	Title    string // one line for people
	Kind     Kind
	Material string // for people: what the blank is and how it is marked
	Process  Process

	Width, Height quantity.Length
	Round         bool            // a disc: Width and Height are its diameter
	Corner        quantity.Length // radius of a rectangle's corners, 0 for sharp ones
	Margin        quantity.Length // nothing is printed nearer to the edge or the hole

	Hole   Hole
	Clear  []Clear
	Symbol Symbol // none where its Side is 0
	Fields []Field
	Lines  []Line
	Marks  Marks

	// Period is filled with the colour of the period, and Second is the second
	// colour where it is always the same. Of TwoColours, one of them is given.
	Period Box
	Second Colour

	Paper Paper
}

// Clear is an area that nothing is printed in: a fold, a rivet.
type Clear struct {
	What string
	Box
}

// A Line is an area that is always filled: a rule to sign on, a frame's side.
type Line struct {
	Box
	Second bool // in the second colour
}

// A Hole is a round hole in the blank. A zero Diameter is none.
type Hole struct {
	Centre   Point
	Diameter quantity.Length
}

// Symbol is the square that the QR symbol takes with its quiet zone.
type Symbol struct {
	At        Point // top left corner
	Side      quantity.Length
	QuietZone int             // clear modules on each side
	Smallest  quantity.Length // smallest module that lasts on this stock
}

// A Field is one line of text.
type Field struct {
	text     string
	parts    []part
	At       Point // on the baseline, at the side that Align names
	Width    quantity.Length
	Align    Align
	Font     Font
	Size     quantity.Length // of the type, where the text fits at it
	Smallest quantity.Length // what it may be shrunk to
	Second   bool            // in the second colour, or the first while there is none
}

// Align says which point of a text lies at its field's place.
type Align uint8

// The alignments. The zero value is Left.
const (
	Left Align = iota
	Middle
	Right
)

// Font is one of the two faces, Go Regular and Go Bold, whose nought is
// crossed. The zero value is Regular.
type Font uint8

// The faces.
const (
	Regular Font = iota
	Bold
)

// Marks are the month and year marks along the edge, to be punched or
// engraved: a ring with its number beside it.
type Marks struct {
	Ring     quantity.Length // outer diameter
	Line     quantity.Length // width of the ring's line
	Size     quantity.Length // of the number's type
	Smallest quantity.Length // what the number may be shrunk to
	Months   []Mark          // none, or twelve in order
	Years    []Mark          // in order, the first year first
}

// A Mark is one ring and the place of its number.
type Mark struct {
	Ring  Point // centre
	Label Point // centre of the number
	Width quantity.Length
}
