package gate

import (
	"fmt"

	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/strict"
)

// ParseQuestion reads one line of the machine surface. What is left out or null
// takes its default: ordinary, straight, bands, listed, 12 months, 5° of tilt,
// false, 0, nothing known. What contradicts itself is found by [Decide]. On error
// the Question holds nothing but the line's ID, where [strict.LineID] finds one.
func ParseQuestion(line []byte) (Question, error) {
	q, err := parseQuestion(line)
	if err != nil {
		id, _ := strict.LineID(line)
		return Question{ID: id}, fmt.Errorf("gate: read a question: %w", err)
	}
	return q, nil
}

func parseQuestion(line []byte) (Question, error) {
	v, err := strict.Parse(line)
	if err != nil {
		return Question{}, err
	}
	o := strict.Open("question", v)
	q := ReadQuestion(o)
	return q, o.Done()
}

// ReadQuestion reads a question of the machine surface, alone in its line or with
// other names in the same object: it asks for its own only, and the caller calls
// o.Done. See [ParseQuestion].
func ReadQuestion(o *strict.Object) Question {
	q := Question{ID: o.Str("id"), Now: readDate(o, "now", true)}
	q.Policy = readPolicy(o.OptObj("policy"))
	q.Sling = ReadSling(o.Obj("sling"))
	if l := o.OptObj("lift"); l != nil {
		lift := ReadLift(l)
		q.Lift = &lift
	}
	return q
}

func readPolicy(o *strict.Object) Policy {
	p := DefaultPolicy()
	p.Angles = optWord(o, "angles", p.Angles, ParseAngles)
	p.Choke = optWord(o, "choke", p.Choke, ParseChoke)
	p.MaxMonths = int(o.OptInt("max_months", 1, 12, int64(p.MaxMonths)))
	p.MaxTilt = quantity.MilliDegree * quantity.Angle(o.OptInt("max_tilt_mdeg", 0, 45_000, p.MaxTilt.MilliDegrees()))
	return p
}

// ReadSling reads the sling object of the machine surface: of a question, of a
// line to print a tag from, or of an event. It asks for the sling's own names
// only; o may hold others for its caller, who also calls o.Done.
func ReadSling(o *strict.Object) Sling {
	var s Sling
	var err error
	if s.System, err = rating.ParseSystem(o.Str("system")); err != nil {
		o.Fail("system", "not us or en")
	}
	s.Grade = rating.Grade(o.Int("grade", 80, 120))
	if s.Size, err = rating.ParseSize(s.System, o.Str("size")); err != nil {
		o.Fail("size", "not a size of that system as it is printed")
	}
	s.Legs = int(o.Int("legs", 1, 4))
	s.Reach = quantity.Millimetre * quantity.Length(o.OptInt("reach_mm", 1, int64(maxLength/quantity.Millimetre), 0))
	s.Adjustable = o.OptBool("adjustable", false)
	for _, x := range o.Objs("stamped") {
		s.Stamped = append(s.Stamped, readStamp(x))
	}
	s.Chart = optMass(o, "chart_g", "chart_lb")
	s.Weakest = optMass(o, "weakest_g", "weakest_lb")
	s.Master = optMass(o, "master_g", "master_lb")
	s.Hottest = optTemperature(o, "hottest_c", "hottest_f")
	s.RatingTag = readWord(o, "rating_tag", ParseRatingTag)
	s.State = readWord(o, "state", ParseState)
	s.Inspected = readDate(o, "inspected", false)
	s.Due = readDate(o, "due", false)
	if field, reason := s.check(); field != "" {
		o.Fail(field, "%s", reason)
	}
	return s
}

func readStamp(o *strict.Object) rating.Stamp {
	s := rating.Stamp{Legs: int(o.Int("legs", 1, 4))}
	s.Basis = readWord(o, "basis", rating.ParseBasis)
	s.Load = readMass(o, "load_g", "load_lb")
	return s
}

// ReadLift reads the lift object of the machine surface: of a question, or of an
// event. It asks for the lift's own names only; o may hold others for its caller, who
// also calls o.Done.
func ReadLift(o *strict.Object) Lift {
	l := Lift{Use: optWord(o, "use", UseOrdinary, ParseUse)}
	l.Load = readMass(o, "load_g", "load_lb")
	l.Margin = int(o.OptInt("margin_pct", 0, 1000, 0))
	l.Hitch = optWord(o, "hitch", Straight, ParseHitch)
	l.Legs = int(o.Int("legs", 1, 4))
	l.Singles = o.OptBool("singles", false)
	if a := o.OptObj("angle"); a != nil {
		l.Angle = &Angle{
			From: readWord(a, "from", ParseReference),
			Size: quantity.MilliDegree * quantity.Angle(a.Int("mdeg", 0, 180_000)),
		}
	}
	l.Centred = o.OptBool("centred", false)
	l.Shortened = optWord(o, "shortened", Unshortened, ParseShortening)
	l.Heat = optTemperature(o, "temp_c", "temp_f")
	l.Edge = optLength(o, "edge_radius_mm", 0)
	if o.Has("choke_mdeg") {
		choke := quantity.MilliDegree * quantity.Angle(o.Int("choke_mdeg", 0, 180_000))
		l.Choke = &choke
	}
	l.ReturnBy = readDate(o, "return_by", false)
	picks := o.OptObjs("picks")
	if o.Has("picks") && len(picks) == 0 {
		o.Fail("picks", "empty")
	}
	for _, p := range picks {
		l.Picks = append(l.Picks, readPoint(p))
	}
	if p := o.OptObj("cg"); p != nil {
		cg := readPoint(p)
		l.CG = &cg
	}
	l.Hook = optLength(o, "hook_mm", -maxLength)
	l.HookMax = optLength(o, "hook_max_mm", -maxLength)
	return l
}

func readPoint(o *strict.Object) lift.Point {
	at := func(name string) quantity.Length {
		const most = int64(maxLength / quantity.Millimetre)
		return quantity.Millimetre * quantity.Length(o.Int(name, -most, most))
	}
	return lift.Point{X: at("x_mm"), Y: at("y_mm"), Z: at("z_mm")}
}

// readWord reads a word of a closed list.
func readWord[T ~uint8](o *strict.Object, name string, parse func(string) (T, error)) T {
	text := o.Str(name)
	v, err := parse(text)
	if err != nil {
		o.Fail(name, "%q is not one of its words", text)
	}
	return v
}

func optWord[T ~uint8](o *strict.Object, name string, def T, parse func(string) (T, error)) T {
	if !o.Has(name) {
		return def
	}
	return readWord(o, name, parse)
}

// readMass reads a mass given in whole grams or whole pounds; both at once is
// an error, and so is neither.
func readMass(o *strict.Object, grams, pounds string) quantity.Mass {
	m := optMass(o, grams, pounds)
	if m == 0 {
		o.Fail(grams, "missing")
	}
	return m
}

func optMass(o *strict.Object, grams, pounds string) quantity.Mass {
	m := quantity.Gram * quantity.Mass(o.OptInt(grams, 1, quantity.MaxGrams, 0))
	if !o.Has(pounds) {
		return m
	}
	if o.Has(grams) {
		o.Fail(pounds, "given beside %s", grams)
	}
	return quantity.Pound * quantity.Mass(o.Int(pounds, 1, quantity.MaxPounds))
}

func optTemperature(o *strict.Object, celsius, fahrenheit string) *quantity.Temperature {
	var t quantity.Temperature
	switch c, f := o.Has(celsius), o.Has(fahrenheit); {
	case c && f:
		o.Fail(fahrenheit, "given beside %s", celsius)
		return nil
	case c:
		t = quantity.Celsius(o.Int(celsius, quantity.MinCelsius, quantity.MaxCelsius))
	case f:
		t = quantity.Fahrenheit(o.Int(fahrenheit, quantity.MinFahrenheit, quantity.MaxFahrenheit))
	default:
		return nil
	}
	return &t
}

func optLength(o *strict.Object, name string, least quantity.Length) *quantity.Length {
	if !o.Has(name) {
		return nil
	}
	n := o.Int(name, int64(least/quantity.Millimetre), int64(maxLength/quantity.Millimetre))
	l := quantity.Millimetre * quantity.Length(n)
	return &l
}

func readDate(o *strict.Object, name string, required bool) quantity.Date {
	if !required && !o.Has(name) {
		return quantity.Date{}
	}
	d, err := quantity.ParseDate(o.Str(name))
	if err != nil {
		o.Fail(name, "not a date of the form YYYY-MM-DD")
	}
	return d
}
