package printtemplates

import (
	"fmt"
	"slices"
	"strings"
	"unicode"

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
	smallestLine  = 100
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
	s := Stock{
		Title:    line(o, "title"),
		Kind:     Kind(optChoice(o, "kind", kinds)),
		Material: o.OptStr("material", ""),
		Process:  Process(optChoice(o, "process", processes)),
	}
	oneLine(o, "material", s.Material)
	if s.Title == "" {
		o.Fail("title", "empty")
	}
	s.readOutline(o.Obj("outline"))
	s.Margin = length(o, "margin_um", 0, 20_000)
	if o.Has("hole") {
		hole := o.Obj("hole")
		s.Hole = Hole{Centre: point(hole, "x_um", "y_um"), Diameter: length(hole, "diameter_um", 500, 100_000)}
	}
	for _, c := range o.OptObjs("clear") {
		s.Clear = append(s.Clear, Clear{What: line(c, "what"), Box: readBox(c, smallestLine)})
	}
	if s.Kind.HasSymbol() || o.Has("symbol") {
		s.Symbol = readSymbol(o.Obj("symbol"))
	}
	for _, f := range o.Objs("fields") {
		s.Fields = append(s.Fields, readField(f, s.Kind))
	}
	for _, l := range o.OptObjs("lines") {
		s.Lines = append(s.Lines, Line{Box: readBox(l, smallestLine), Second: second(l)})
	}
	if o.Has("marks") {
		if s.Kind != Tag {
			o.Fail("marks", "a %s has no month and year marks", s.Kind)
		}
		s.Marks = readMarks(o.Obj("marks"), Point{s.Width / 2, s.Height / 2})
	}
	s.readColours(o)
	if o.Has("paper") {
		s.Paper = readPaper(o.Obj("paper"))
	}
	requireWords(o, s)
	return s
}

func (s *Stock) readOutline(o *strict.Object) {
	switch shape := o.Str("shape"); shape {
	case "rectangle":
		s.Width = length(o, "width_um", smallestBlank, largestBlank)
		s.Height = length(o, "height_um", smallestBlank, largestBlank)
		s.Corner = length(o, "corner_um", 0, int64(min(s.Width, s.Height)/2))
	case "round":
		s.Round = true
		s.Width = length(o, "diameter_um", smallestBlank, largestBlank)
		s.Height = s.Width
	default:
		o.Fail("shape", "%q is not rectangle or round", shape)
	}
}

func readSymbol(o *strict.Object) Symbol {
	return Symbol{
		At:        point(o, "x_um", "y_um"),
		Side:      length(o, "side_um", smallestBlank, largestBlank),
		QuietZone: int(o.Int("quiet_zone_modules", 4, 20)), // ISO/IEC 18004: at least four (from memory, not seen)
		Smallest:  length(o, "smallest_module_um", 100, 10_000),
	}
}

// readColours reads what is printed in a second colour. A process has but one:
// that of the period, or one that is always the same.
func (s *Stock) readColours(o *strict.Object) {
	if name := o.OptStr("second_colour", ""); name != "" {
		c, err := ParseColour(name)
		if err != nil {
			o.Fail("second_colour", "%q is not one of %v", name, Colours())
		}
		s.Second = c
	}
	if o.Has("period") {
		if s.Kind != Tag {
			o.Fail("period", "a %s is of no period", s.Kind)
		}
		s.Period = readBox(o.Obj("period"), smallestBlank/5)
	}
	switch used := s.Second != NoColour || s.Period.Width > 0 || s.usesSecond(); {
	case s.Process == OneColour && used:
		o.Fail("process", "one colour, and a second one is used")
	case s.Process == TwoColours && (s.Second != NoColour) == (s.Period.Width > 0):
		o.Fail("process", "two colours: either second_colour says which the second is, or period where that of the period is")
	}
}

// usesSecond says whether a field or a line is in the second colour.
func (s *Stock) usesSecond() bool {
	return slices.ContainsFunc(s.Fields, func(f Field) bool { return f.Second }) ||
		slices.ContainsFunc(s.Lines, func(l Line) bool { return l.Second })
}

// requireWords refuses a stock that would let a tag mislead: a load without its
// angle says more than the plate does, and without the status a sling that
// stays in would carry a tag like any other.
func requireWords(o *strict.Object, s Stock) {
	shows := func(w Word) bool {
		return slices.ContainsFunc(s.Fields, func(f Field) bool { return f.shows(w) })
	}
	for _, w := range s.Kind.Required() {
		if !shows(w) {
			o.Fail("fields", "no field shows {%s}", w)
		}
	}
	if shows(Load) != shows(Angle) {
		o.Fail("fields", "{%s} and {%s} are shown together or not at all", Load, Angle)
	}
	if s.Period.Width > 0 && !shows(Period) {
		o.Fail("fields", "no field shows {%s}: a colour is not the only sign", Period)
	}
}

func readField(o *strict.Object, k Kind) Field {
	f := Field{
		text:   line(o, "text"),
		At:     point(o, "x_um", "y_um"),
		Width:  length(o, "width_um", 1_000, largestBlank),
		Size:   length(o, "type_um", smallestType, largestType),
		Second: second(o),
	}
	f.Smallest = length(o, "smallest_type_um", smallestType, max(smallestType, int64(f.Size)))
	var err error
	if f.parts, err = splitText(f.text, k); err != nil {
		o.Fail("text", "%v", err)
	}
	f.Align = Align(choice(o, "align", "left", "middle", "right"))
	f.Font = Font(choice(o, "font", "regular", "bold"))
	return f
}

func readBox(o *strict.Object, least int64) Box {
	return Box{
		At:     point(o, "x_um", "y_um"),
		Width:  length(o, "width_um", least, largestBlank),
		Height: length(o, "height_um", least, largestBlank),
	}
}

// second reads the optional colour of a field or a line.
func second(o *strict.Object) bool { return optChoice(o, "colour", []string{"first", "second"}) == 1 }

// line reads a text for people.
func line(o *strict.Object, name string) string { return oneLine(o, name, o.Str(name)) }

// oneLine refuses what would break the lines of a list, or be printed as nothing.
func oneLine(o *strict.Object, name, text string) string {
	if strings.ContainsFunc(text, func(r rune) bool { return !unicode.IsGraphic(r) }) {
		o.Fail(name, "more than one line, or what cannot be printed")
	}
	return text
}

// choice returns the place of the named field's value among the values.
func choice(o *strict.Object, name string, values ...string) int {
	return among(o, name, o.Str(name), values)
}

// optChoice is choice where the field may be left out for the first value.
func optChoice(o *strict.Object, name string, values []string) int {
	return among(o, name, o.OptStr(name, values[0]), values)
}

func among(o *strict.Object, name, v string, values []string) int {
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
