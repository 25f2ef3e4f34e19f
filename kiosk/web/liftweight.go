package web

import (
	"errors"
	"strconv"

	"cribgate/core/quantity"
	"cribgate/core/weight"
)

// weightFields are the fields of the helper that works a load out by its size.
func weightFields() []string {
	return []string{"of", "shape", "w-length", "w-width", "w-diameter", "w-thickness", "pieces", "w-unit"}
}

// Estimate is what a load weighs by its size. The zero Estimate: nobody asked.
type Estimate struct {
	Load   string // rounded up
	Small  string // in the other unit
	By     string // by which density, and who published it
	Wrong  string // what is missing
	Exact  quantity.Mass
	Weighs bool // Exact counts
}

// estimate works out a load by its size. Nothing of the lift follows from it before
// somebody takes it as the load.
func (f liftForm) estimate(c complaints, w words) Estimate {
	if f["shape"] == "" && f["of"] == "" {
		return Estimate{}
	}
	e := Estimate{Wrong: "The size is not whole yet."}
	shape, known := weight.ParseShape(f["shape"])
	if !known {
		c.add("shape", "Say what shape it has.")
		return e
	}
	material, known := weight.ParseMaterial(f["of"])
	if !known {
		c.add("of", "Say what it is made of.")
		return e
	}
	unit, known := reachUnits[f["w-unit"]]
	if !known {
		c.add("w-unit", "Choose the unit of the sizes.")
		return e
	}
	before := len(c)
	size := func(field string) quantity.Length {
		if !weightAsks(shape, field) || f["w-"+field] == "" {
			return 0
		}
		l, ok := readLong(f["w-"+field], unit)
		if !ok {
			c.add("w-"+field, reachHelp)
		}
		return l
	}
	z := weight.Size{Length: size("length"), Width: size("width"), Diameter: size("diameter"), Thickness: size("thickness")}
	pieces := 1
	if text := f["pieces"]; text != "" {
		n, err := strconv.Atoi(text)
		if err != nil {
			c.add("pieces", "Type how many pieces, in digits.")
		}
		pieces = n
	}
	if len(c) > before {
		return e
	}
	m, err := weight.Of(material, shape, z, pieces)
	var wrong *weight.SizeError
	switch {
	case errors.As(err, &wrong) && wrong.Field == "pieces":
		c.add("pieces", "Type how many pieces: 1 to 10,000.")
	case errors.As(err, &wrong):
		c.add("w-"+wrong.Field, sizeComplaint(wrong, z))
	case err != nil:
		c.add("shape", "This cannot be worked out.")
	default:
		needs := w.needs("", m)
		return Estimate{Load: needs.Value, Small: needs.Small, Exact: m, Weighs: true,
			By: w.cites(material.Source())}
	}
	return e
}

func sizeComplaint(e *weight.SizeError, z weight.Size) string {
	given := map[string]quantity.Length{"length": z.Length, "width": z.Width, "diameter": z.Diameter, "thickness": z.Thickness}[e.Field]
	if given == 0 {
		return "Type the " + e.Field + "."
	}
	return upperFirst(e.Reason) + "."
}

// weightAsks tells which sizes a shape has; see [weight.Shape].
func weightAsks(s weight.Shape, field string) bool {
	switch field {
	case "width":
		return s == weight.Plate || s == weight.Square
	case "diameter":
		return s == weight.Round || s == weight.Pipe
	case "thickness":
		return s == weight.Plate || s == weight.Pipe
	}
	return true
}

// take makes the estimate the load, in the unit of the load. It says itself that it
// was not weighed, so that the site's margin is added.
func (f liftForm) take(e Estimate) {
	unit, known := map[string]quantity.Mass{"lb": quantity.Pound, "kg": quantity.Kilogram}[f["unit"]]
	if !e.Weighs || !known {
		return
	}
	f["load"], f["known"] = countIn(e.Exact.Ceil(unit), unit), "estimated"
}

// weighing asks for what a load is made of and how large it is.
func (a asking) weighing(p *LiftPage) {
	p.Of = a.choice("of", "What is it made of?", "")
	for _, m := range weight.Materials() {
		p.Of.Options = append(p.Of.Options, Option{Value: m.String(), Label: upperFirst(m.Words()), On: a.form["of"] == m.String()})
	}
	p.Shape = a.choice("shape", "What shape has it?", "",
		Option{Value: weight.Plate.String(), Label: "Plate or block", Sub: "or water in a tank"},
		Option{Value: weight.Square.String(), Label: "Square bar"},
		Option{Value: weight.Round.String(), Label: "Round bar", Sub: "or water in a pipe"},
		Option{Value: weight.Pipe.String(), Label: "Pipe", Sub: "empty"})
	p.Sizes = []Field{
		a.field("w-length", "Length", "", "text"), a.field("w-width", "Width", "", "text"),
		a.field("w-diameter", "Diameter, outside", "", "text"), a.field("w-thickness", "Thickness, or height", "Of a pipe: of its wall", "text"),
		a.field("pieces", "Pieces", "Empty for one", "numeric"),
	}
	p.SizeUnit = a.lengthUnit("w-unit", "Sizes in")
}

// lengthUnit asks in which unit lengths are typed.
func (a asking) lengthUnit(name, legend string) Choice {
	return a.choice(name, legend, "", Option{Value: "ft", Label: "ft"}, Option{Value: "in", Label: "in"},
		Option{Value: "m", Label: "m"}, Option{Value: "mm", Label: "mm"})
}
