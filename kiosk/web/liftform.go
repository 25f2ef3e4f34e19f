package web

import (
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
)

// liftFields are the names of everything that the lift page asks.
func liftFields() []string {
	list := []string{
		"load", "unit", "known", "hitch", "legs", "angle", "degrees", "from", "centred", "bears", "radius",
		"radius-unit", "choke", "special", "use", "heat", "temperature", "scale", "back", "day",
		"together", "slings", "beam", "parts", "crane", "lower", "sure",
		"span", "width", "reach", "headroom", "hook", "length-unit",
	}
	return append(append(list, placeFields()...), weightFields()...)
}

// A liftForm holds what was answered on the lift page, by field name, as it was
// typed. It is kept for the rigger's turn and read anew each time, since policy
// and date may change in between.
type liftForm map[string]string

// A statedLift is a lift with every question answered.
type statedLift struct {
	event.StatedLift
	Shift  bool          // gear for a shift, and no lift: of Lift only ReturnBy counts
	Plan   event.LiftID  // the planned lift that it is; zero: it was stated now
	Radius string        // of what the chain bends over, as it was typed, with its unit
	Unit   quantity.Mass // in which the load was stated
}

// liftTerms are what a form is read by.
type liftTerms struct {
	margin int // per cent that the site adds to a load that is not weighed
	today  quantity.Date
	cranes []event.Crane
}

// complaints say at each field what is missing or wrong, in words.
type complaints map[string]string

func (c complaints) add(field, sentence string) {
	if sentence != "" {
		c[field] = sentence
	}
}

// pick reads an answer that must be one of a few.
func pick[T any](f liftForm, c complaints, field, missing string, answers map[string]T) T {
	answer, ok := answers[f[field]]
	switch {
	case f[field] == "":
		c.add(field, missing)
	case !ok:
		c.add(field, "This is none of the answers. "+missing)
	}
	return answer
}

// read makes a lift of the answers. Nothing that was not answered is filled in;
// unless the complaints are empty, the lift does not count.
func (f liftForm) read(terms liftTerms) (statedLift, complaints) {
	c := complaints{}
	var s statedLift
	l := &s.Lift
	unit := pick(f, c, "unit", "Choose pounds or kilograms.", map[string]quantity.Mass{"lb": quantity.Pound, "kg": quantity.Kilogram})
	s.Unit = unit
	if unit != 0 {
		var complaint string
		l.Load, complaint = readLoad(f["load"], unit)
		c.add("load", complaint)
	}
	s.Weighed = pick(f, c, "known", "Say how the load is known.", map[string]bool{"weighed": true, "papers": false, "estimated": false})
	if !s.Weighed {
		l.Margin = terms.margin
	}
	l.Hitch = pick(f, c, "hitch", "Say how the sling holds the load.", spelled(gate.ParseHitch, "straight", "choke", "basket"))
	l.Legs = pick(f, c, "legs", "Say how many legs carry.", map[string]int{"1": 1, "2": 2, "3": 3, "4": 4})
	if l.Hitch == 0 || l.Legs == 0 {
		f.readRest(c, l, terms)
		return s, c
	}
	f.readTogether(c, &s)
	f.readEnds(c, &s, terms)
	if asksAngle(l.Hitch, l.Legs) {
		f.readAngle(c, &s)
	}
	if l.Legs > 1 && f["angle"] != byPlaces {
		l.Centred = pick(f, c, "centred", "Say whether the centre of gravity is in the middle.", map[string]bool{"yes": true, "no": false})
	}
	f.readBears(c, &s)
	if l.Hitch == gate.Choked {
		l.Choke = pick(f, c, "choke", "Say how the choke is pulled tight.", chokeAngles())
	}
	f.readRest(c, l, terms)
	return s, c
}

// spelled maps the spellings of the machine surface to their values.
func spelled[T any](parse func(string) (T, error), spellings ...string) map[string]T {
	m := map[string]T{}
	for _, s := range spellings {
		if v, err := parse(s); err == nil {
			m[s] = v
		}
	}
	return m
}

// asksAngle tells whether the legs of such a lift lean.
func asksAngle(h gate.Hitch, legs int) bool { return legs > 1 || h == gate.Basket }

// asksBetween tells whether an angle between two legs can be stated.
func asksBetween(h gate.Hitch, legs int) bool { return (h == gate.Basket) == (legs == 1) && legs <= 2 }

// spreads are the answers by the drawing: how far apart the pick points are, in
// lengths of a leg, and the angle from horizontal that two equal legs then have
// at the least. Half the spread is the cosine of that angle: 1, √2 and √3 for 60,
// 45 and 30 degrees, the roots cut to the safe side (plane trigonometry). Three and
// four legs stand on a circle, and its diameter takes the place of the spread: three
// pick points are only √3/2 of it apart.
var spreads = [...]struct {
	value   string
	tenths  int64 // of a leg's length
	degrees quantity.Angle
}{
	{"60", 10, 60},
	{"45", 14, 45},
	{"30", 17, 30},
}

func (f liftForm) readAngle(c complaints, s *statedLift) {
	l := &s.Lift
	for _, spread := range spreads {
		if f["angle"] == spread.value {
			s.Drawn = true
			l.Angle = &gate.Angle{From: gate.FromHorizontal, Size: spread.degrees * quantity.Degree}
			return
		}
	}
	switch f["angle"] {
	case "":
		c.add("angle", "Answer by the drawings, in degrees, by the distance, or by where each pick point is.")
		return
	case bySpan:
		f.readSpan(c, s)
		return
	case byPlaces:
		f.readPlaces(c, s)
		return
	case "flat":
		t := gate.AngleTooFlat.Text(gate.Answer{}, gate.Speech{})
		c.add("angle", t.Sentence+" "+t.Next)
		return
	case "degrees":
	default:
		c.add("angle", "This is none of the answers. Answer by the drawings, or in degrees.")
		return
	}
	size, complaint := readDegrees(f["degrees"])
	c.add("degrees", complaint)
	from := pick(f, c, "from", "Say from what the angle is measured.", spelled(gate.ParseReference, "horizontal", "vertical", "between"))
	if complaint != "" || from == 0 {
		return
	}
	most, what := 90*quantity.Degree, "from horizontal is above 0 and at most 90 degrees"
	switch from {
	case gate.FromVertical:
		what = "from vertical is at least 0 and below 90 degrees"
	case gate.BetweenLegs:
		most, what = 180*quantity.Degree, "between two legs is at least 0 and below 180 degrees"
		if !asksBetween(l.Hitch, l.Legs) {
			c.add("from", "An angle between legs is stated for two legs only. Measure from horizontal or from vertical.")
			return
		}
	}
	if size > most || size == most && from != gate.FromHorizontal || size == 0 && from == gate.FromHorizontal {
		c.add("degrees", "An angle "+what+".")
		return
	}
	l.Angle = &gate.Angle{From: from, Size: size}
}

func (f liftForm) readBears(c complaints, s *statedLift) {
	l := &s.Lift
	bends := pick(f, c, "bears", "Say what the chain bears on.", map[string]bool{"nothing": false, "round": true})
	switch {
	case f["bears"] == "nothing" && l.Hitch != gate.Straight:
		c.add("bears", "In a choke or a basket the chain always bears on the load: give the radius it bends around.")
	case bends:
		inches := pick(f, c, "radius-unit", "Choose inches or millimetres.", map[string]bool{"in": true, "mm": false})
		radius, complaint := readRadius(f["radius"], inches)
		c.add("radius", complaint)
		l.Edge, s.Radius = &radius, f["radius"]+" "+f["radius-unit"]
	}
}

// chokeAngles are the answers about the angle of choke. Each stands for a range
// that is rated as one, and is the range's sharpest whole degree.
func chokeAngles() map[string]*quantity.Angle {
	m := map[string]*quantity.Angle{}
	for value, degrees := range map[string]quantity.Angle{"120": 121, "90": 90, "60": 60, "30": 30, "less": 29} {
		a := degrees * quantity.Degree
		m[value] = &a
	}
	return m
}

// readRest reads what is asked of every lift, whatever its hitch.
func (f liftForm) readRest(c complaints, l *gate.Lift, terms liftTerms) {
	l.Use = gate.UseOrdinary
	if pick(f, c, "special", "Say whether anything is special about this lift.", map[string]bool{"no": false, "yes": true}) {
		l.Use = pick(f, c, "use", "Say what is lifted.", spelled(gate.ParseUse, "ordinary", "people", "molten", "chemical", "other"))
		f.readHeat(c, l)
	}
	f.readBack(c, l, terms)
}

func (f liftForm) readHeat(c complaints, l *gate.Lift) {
	hot := pick(f, c, "heat", "Say whether the chain gets hot or very cold.", map[string]bool{"ordinary": false, "other": true})
	if hot {
		fahrenheit := pick(f, c, "scale", "Choose °F or °C.", map[string]bool{"F": true, "C": false})
		t, complaint := readTemperature(f["temperature"], fahrenheit)
		c.add("temperature", complaint)
		l.Heat = &t
	}
}

func (f liftForm) readBack(c complaints, l *gate.Lift, terms liftTerms) {
	text := f["back"]
	switch text {
	case "":
		c.add("back", "Say when it is needed back.")
		return
	case "other":
		if text = f["day"]; text == "" {
			c.add("day", "Choose the day.")
			return
		}
	}
	day, err := quantity.ParseDate(text)
	switch {
	case err != nil:
		c.add("day", "There is no such day: write it like "+terms.today.String()+".")
	case day.Before(terms.today):
		c.add("day", "This day is over: today is "+Day(terms.today)+".")
	}
	l.ReturnBy = day
}

// asksSingles tells whether it must be asked if a sling of one leg is one of
// several on the hook.
func asksSingles(l gate.Lift, sling gate.Sling) bool {
	return sling.Legs == 1 && l.Legs > 1 && l.Hitch != gate.Basket
}
