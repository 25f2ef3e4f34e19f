package printtemplates

import (
	"fmt"
	"slices"

	"cribgate/core/quantity"
	"cribgate/core/strict"
)

// Bounds of the figures in a file, in micrometres. They catch slips of the pen
// (millimetres for micrometres); what a blank can bear is in its own file.
// Common practice, no source.
const (
	smallestBlank = 5_000
	largestBlank  = 600_000
	smallestType  = 1_000
	largestType   = 50_000
)

// Parse reads a stock's file. The name is the file's, without its ending; it
// may consist of small letters, digits and hyphens. On error the Stock is zero.
func Parse(name string, data []byte) (Stock, error) {
	if !isName(name) {
		return Stock{}, fmt.Errorf("printtemplates: read stock %q: a name has small letters, digits and hyphens only", name)
	}
	v, err := strict.Parse(data)
	if err != nil {
		return Stock{}, fmt.Errorf("printtemplates: read stock %s: %w", name, err)
	}
	o := strict.Open("stock", v)
	s := readStock(o)
	s.Name = name
	if err := o.Done(); err != nil {
		return Stock{}, fmt.Errorf("printtemplates: read stock %s: %w", name, err)
	}
	return s, nil
}

func isName(name string) bool {
	for _, r := range name {
		if (r < 'a' || r > 'z') && (r < '0' || r > '9') && r != '-' {
			return false
		}
	}
	return name != "" && len(name) <= 40
}

func readStock(o *strict.Object) Stock {
	o.Int("format", 1, 1)
	s := Stock{Title: o.Str("title")}
	if s.Title == "" {
		o.Fail("title", "empty")
	}
	outline := o.Obj("outline")
	switch shape := outline.Str("shape"); shape {
	case "rectangle":
		s.Width = length(outline, "width_um", smallestBlank, largestBlank)
		s.Height = length(outline, "height_um", smallestBlank, largestBlank)
		s.Corner = length(outline, "corner_um", 0, int64(min(s.Width, s.Height)/2))
	case "round":
		s.Round = true
		s.Width = length(outline, "diameter_um", smallestBlank, largestBlank)
		s.Height = s.Width
	default:
		outline.Fail("shape", "%q is not rectangle or round", shape)
	}
	s.Margin = length(o, "margin_um", 0, 20_000)
	if o.Has("hole") {
		hole := o.Obj("hole")
		s.Hole = Hole{Centre: point(hole, "x_um", "y_um"), Diameter: length(hole, "diameter_um", 500, 100_000)}
	}
	symbol := o.Obj("symbol")
	s.Symbol = Symbol{
		At:        point(symbol, "x_um", "y_um"),
		Side:      length(symbol, "side_um", smallestBlank, largestBlank),
		QuietZone: int(symbol.Int("quiet_zone_modules", 4, 20)), // ISO/IEC 18004: at least four (from memory, not seen)
		Smallest:  length(symbol, "smallest_module_um", 100, 10_000),
	}
	for _, f := range o.Objs("fields") {
		s.Fields = append(s.Fields, readField(f))
	}
	if o.Has("marks") {
		s.Marks = readMarks(o.Obj("marks"), Point{s.Width / 2, s.Height / 2})
	}
	requireWords(o, s)
	return s
}

// requireWords refuses a stock that would let a tag mislead: a load without its
// angle says more than the plate does, and without the status a sling that
// stays in would carry a tag like any other.
func requireWords(o *strict.Object, s Stock) {
	shows := func(w Word) bool {
		return slices.ContainsFunc(s.Fields, func(f Field) bool { return f.shows(w) })
	}
	for _, w := range []Word{ID, Due, Status, Code} {
		if !shows(w) {
			o.Fail("fields", "no field shows {%s}", w)
		}
	}
	if shows(Load) != shows(Angle) {
		o.Fail("fields", "{%s} and {%s} are shown together or not at all", Load, Angle)
	}
}

func readField(o *strict.Object) Field {
	f := Field{
		text:  o.Str("text"),
		At:    point(o, "x_um", "y_um"),
		Width: length(o, "width_um", 1_000, largestBlank),
		Size:  length(o, "type_um", smallestType, largestType),
	}
	f.Smallest = length(o, "smallest_type_um", smallestType, max(smallestType, int64(f.Size)))
	var err error
	if f.parts, err = splitText(f.text); err != nil {
		o.Fail("text", "%v", err)
	}
	f.Align = Align(choice(o, "align", "left", "middle", "right"))
	f.Font = Font(choice(o, "font", "regular", "bold"))
	return f
}

// choice returns the place of the named field's value among the values.
func choice(o *strict.Object, name string, values ...string) int {
	v := o.Str(name)
	i := slices.Index(values, v)
	if i < 0 {
		o.Fail(name, "%q is not one of %q", v, values)
	}
	return max(i, 0)
}

func length(o *strict.Object, name string, low, high int64) quantity.Length {
	return quantity.Length(o.Int(name, low, high)) * quantity.Micrometre
}

func point(o *strict.Object, x, y string) Point {
	return Point{length(o, x, -largestBlank, largestBlank), length(o, y, -largestBlank, largestBlank)}
}
