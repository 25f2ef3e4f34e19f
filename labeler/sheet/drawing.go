// Package sheet lays a tag out: a stock and what is to be printed on it become
// a [Drawing], a flat list of what lies where, in micrometres from the top left
// corner of the blank, x to the right and y downward. Every writer draws the
// same list and decides nothing.
//
// [Layout] is the entry point. It never prints what cannot be read: it shrinks
// a text down to the smallest type that the stock allows and refuses with the
// figure what still does not fit ([ErrFit]), what a font cannot show
// ([ErrGlyph]), a module below what lasts on the stock ([ErrModule]), letters
// too faint on their ground ([ErrContrast]), and anything that would touch
// something else, the symbol's quiet zone, a fold or the hole ([ErrOverlap]), or
// come too near to the edge ([ErrEdge]). The due day is printed from the same
// date as its month and year marks, and refused where it has none ([ErrYear]).
//
// [Compose] puts drawings on the stock's paper, a sheet of many with crop marks,
// or makes a page of each; [Builder] lays out what has no stock, such as a card.
package sheet

import (
	"cribgate/core/quantity"
	"cribgate/labeler/symbol"
	"cribgate/printtemplates"
)

// A Point is a place on the blank.
type Point = printtemplates.Point

// A Drawing is what one tag looks like. The zero Drawing is empty. A Drawing
// is not changed after Layout returned it.
type Drawing struct {
	Title         string // for a document's title: the identification, or a badge's name
	Width, Height quantity.Length
	Symbol        Symbol // none where its Module is 0
	Texts         []Text
	Ink           []Area
	Tint          Tint   // what Second is printed as; zero where nothing is
	Blank         []Path // hairlines along the edge of the blank and its hole: not ink, drawn on request
	Cut           []Path // the edge of the blank and of its hole themselves, for a machine that cuts: not ink either
}

// Colour is one of the two that a process can put on a blank.
type Colour uint8

// The colours. The zero value is Black, which a laser or a punch makes too.
const (
	Black Colour = iota
	Second
)

// A Tint is a colour of light on a screen and of ink on paper, as sRGB.
type Tint struct{ R, G, B uint8 }

// An Area is filled with one colour.
type Area struct {
	Path   Path
	Colour Colour
}

// A Page is what one sheet of paper, or one blank, is printed with. Every
// writer draws pages.
type Page struct {
	Title         string
	Width, Height quantity.Length
	Placed        []Placed
	Crop          []Path // crop marks, in black between the blanks
}

// Placed is a drawing with the place of its top left corner on the page.
type Placed struct {
	At Point
	Drawing
}

// Page returns the page that is the blank itself.
func (d Drawing) Page() Page {
	return Page{Title: d.Title, Width: d.Width, Height: d.Height, Placed: []Placed{{Drawing: d}}}
}

// Symbol is a placed QR symbol.
type Symbol struct {
	symbol.Symbol
	At       Point           // top left corner of the grid, quiet zone outside it
	Module   quantity.Length // side of one module
	Smallest quantity.Length // below it a module does not last on the stock
}

// Side is the width of the grid without its quiet zone.
func (s Symbol) Side() quantity.Length { return symbol.Modules * s.Module }

// A Text is one placed line.
type Text struct {
	String string
	Font   printtemplates.Font
	Colour Colour
	Size   quantity.Length // height of the em
	At     Point           // left end of the baseline
	Width  quantity.Length // sum of the advances
	Ink    Rect            // what the letters cover
}

// A Rect is the area from Min to Max.
type Rect struct{ Min, Max Point }

func pt(x, y quantity.Length) Point { return Point{X: x, Y: y} }
