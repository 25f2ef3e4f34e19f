package web

import (
	"fmt"
	"maps"
	"math"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/kiosk/counter"
)

// TestLoads is the one rule by which a load is read, and one sentence for each
// load that is none.
func TestLoads(t *testing.T) {
	const rule = "Type whole pounds in digits, like 12000, 12,000 or 12 000. A short ton is 2,000 lb, a tonne 2,205 lb. Round a fraction up, and take an estimate at its most."
	for _, c := range []struct {
		text      string
		pounds    int64
		complaint string
	}{
		{"12000", 12_000, ""},
		{"12,000", 12_000, ""},
		{"12 000", 12_000, ""},
		{"1,234,567", 1_234_567, ""},
		{"1", 1, ""},
		{"007", 7, ""},
		{"2204622621", 2_204_622_621, ""}, // 999,999,999.6 kg: the most whole pounds below 10^12 g
		{"", 0, "Type the load. Where nobody knows it, it is weighed or looked up before a sling goes."},
		{"0", 0, "A load of 0 is no lift: type what hangs from the hook, rigging included."},
		{"000", 0, "A load of 0 is no lift: type what hangs from the hook, rigging included."},
		{"-5", 0, "A load is more than nothing: type it without a minus sign."},
		{"−5", 0, "A load is more than nothing: type it without a minus sign."},
		{"NaN", 0, rule},
		{"inf", 0, rule},
		{"1e30", 0, rule},
		{"10^30", 0, rule},
		{"0x10", 0, rule},
		{"12,5", 0, rule},
		{"12.5", 0, rule},
		{"12.000", 0, rule},
		{"1,2000", 0, rule},
		{"12,00", 0, rule},
		{"12,000 000", 0, rule},
		{"0,500", 0, rule},
		{",000", 0, rule},
		{"12000 lb", 0, rule},
		{"١٢", 0, rule}, // digits of another script
		{"2204622622", 0, "This is more than a million tonnes: count the digits again."},
		{"1" + strings.Repeat("0", 30), 0, "This is more than a million tonnes: count the digits again."},
	} {
		load, complaint := readLoad(c.text, quantity.Pound)
		if load != quantity.Mass(c.pounds)*quantity.Pound || complaint != c.complaint {
			t.Errorf("%q: %s, %q, want %d lb, %q", c.text, load.InPounds(), complaint, c.pounds, c.complaint)
		}
	}
	if load, complaint := readLoad("5,443", quantity.Kilogram); load != 5443*quantity.Kilogram || complaint != "" {
		t.Errorf("5,443 kg: %s, %q", load, complaint)
	}
}

// TestEveryWholeLoadIsRead: however people group digits, the number is the same.
func TestEveryWholeLoadIsRead(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		n := rapid.Int64Range(1, quantity.MaxPounds).Draw(r, "pounds")
		plain := fmt.Sprint(n)
		grouped := quantity.Mass(n * int64(quantity.Pound)).InPounds()
		grouped = strings.TrimSuffix(grouped, " lb")
		for _, text := range []string{plain, grouped, strings.ReplaceAll(grouped, ",", " ")} {
			if load, complaint := readLoad(text, quantity.Pound); load != quantity.Mass(n)*quantity.Pound || complaint != "" {
				r.Fatalf("%q: %v %q", text, load, complaint)
			}
		}
	})
}

func FuzzLoad(f *testing.F) {
	seeds := []string{"12,000", "12 000", "", "0", "-1", "1e30", "NaN", "12,5", "\x00", "１２"}
	for _, s := range seeds {
		f.Add(s)
	}
	if len(seeds) != 10 {
		f.Fatal("seeds were lost")
	}
	f.Fuzz(func(t *testing.T, text string) {
		bounded.Run(t, time.Now, 8<<20, func() {
			for _, unit := range []quantity.Mass{quantity.Pound, quantity.Kilogram} {
				load, complaint := readLoad(text, unit)
				if (load == 0) == (complaint == "") {
					t.Fatalf("%q: %d and %q", text, load, complaint)
				}
				if load != 0 && (load < quantity.MinMass || load > quantity.MaxMass || load%unit != 0) {
					t.Fatalf("%q: %d is no load", text, load)
				}
			}
		})
	})
}

func TestNumbersOfTheLift(t *testing.T) {
	for text, want := range map[string]quantity.Angle{"52": 52 * quantity.Degree, "52.5": 105 * quantity.Degree / 2, "0": 0, "7.125": 7125 * quantity.MilliDegree} {
		if a, complaint := readDegrees(text); a != want || complaint != "" {
			t.Errorf("%q: %v %q", text, a, complaint)
		}
	}
	for _, text := range []string{"", "52,5", "-10", "1e2", "52.1234", "5 2", "NaN", "1000"} {
		if a, complaint := readDegrees(text); a != 0 || complaint == "" {
			t.Errorf("%q: %v %q", text, a, complaint)
		}
	}
	for _, c := range []struct {
		text   string
		inches bool
		want   quantity.Length // whole millimetres, never more than was typed
		bad    bool
	}{
		{"0", true, 0, false},
		{"1/2", true, 12 * quantity.Millimetre, false}, // 12.7 mm
		{"0.5", true, 12 * quantity.Millimetre, false},
		{"1 1/2", true, 38 * quantity.Millimetre, false}, // 38.1 mm
		{"2", true, 50 * quantity.Millimetre, false},     // 50.8 mm
		{"12.9", false, 12 * quantity.Millimetre, false},
		{"13", false, 13 * quantity.Millimetre, false},
		{"1/2", false, 0, true},
		{"1/0", true, 0, true},
		{"4/2", true, 0, true},
		{"12,5", false, 0, true},
		{"-1", false, 0, true},
		{"", false, 0, true},
		{"999999", true, 0, true},
	} {
		got, complaint := readRadius(c.text, c.inches)
		if got != c.want || (complaint != "") != c.bad {
			t.Errorf("radius %q inches %t: %s %q", c.text, c.inches, got, complaint)
		}
	}
	for _, c := range []struct {
		text       string
		fahrenheit bool
		want       quantity.Temperature
		bad        bool
	}{
		{"400", true, quantity.Fahrenheit(400), false},
		{"-40", false, quantity.Celsius(-40), false},
		{"−40", false, quantity.Celsius(-40), false},
		{"-459", true, quantity.Fahrenheit(-459), false},
		{"-460", true, 0, true},
		{"-274", false, 0, true},
		{"2000", false, quantity.Celsius(2000), false},
		{"2001", false, 0, true},
		{"20.5", false, 0, true},
		{"hot", false, 0, true},
	} {
		got, complaint := readTemperature(c.text, c.fahrenheit)
		if got != c.want || (complaint != "") != c.bad {
			t.Errorf("temperature %q fahrenheit %t: %v %q", c.text, c.fahrenheit, got, complaint)
		}
	}
}

func formOf(pairs ...string) liftForm {
	f := liftForm{}
	for name, v := range with(aLift(), pairs...) {
		f[name] = v[0]
	}
	return f
}

func termsOf(t *testing.T) liftTerms {
	t.Helper()
	today, err := quantity.ParseDate("2026-03-02")
	if err != nil {
		t.Fatal(err)
	}
	return liftTerms{margin: 10, today: today}
}

// TestLiftSaysWhatIsMissing: each answer that is left out or wrong is named at its
// own field, and nothing else is complained about.
func TestLiftSaysWhatIsMissing(t *testing.T) {
	choke := []string{"hitch", "choke", "bears", "round", "radius", "4", "choke", "120"}
	for _, c := range []struct {
		name  string
		pairs []string
		field string // empty: nothing is wrong
		says  string
	}{
		{"whole", nil, "", ""},
		{"no unit", []string{"unit", ""}, "unit", "Choose pounds or kilograms."},
		{"unit of its own", []string{"unit", "stone"}, "unit", "none of the answers"},
		{"no load", []string{"load", ""}, "load", "Type the load"},
		{"how known", []string{"known", ""}, "known", "how the load is known"},
		{"special", []string{"special", ""}, "special", "anything is special"},
		{"special in other words", []string{"special", "maybe"}, "special", "none of the answers"},
		{"nothing special", []string{"special", "no", "use", "", "heat", ""}, "", ""},
		{"use", []string{"use", ""}, "use", "what is lifted"},
		{"hitch", []string{"hitch", ""}, "hitch", "how the sling holds"},
		{"legs", []string{"legs", ""}, "legs", "how many legs"},
		{"five legs", []string{"legs", "5"}, "legs", "none of the answers"},
		{"angle", []string{"angle", ""}, "angle", "by the drawings"},
		{"degrees", []string{"degrees", ""}, "degrees", "Type the angle"},
		{"from what", []string{"from", ""}, "from", "from what"},
		{"above 90", []string{"degrees", "90.001"}, "degrees", "at most 90"},
		{"90 is upright", []string{"degrees", "90"}, "", ""},
		{"flat on the load", []string{"degrees", "0"}, "degrees", "above 0"},
		{"0 from vertical", []string{"degrees", "0", "from", "vertical"}, "", ""},
		{"90 from vertical", []string{"degrees", "90", "from", "vertical"}, "degrees", "below 90"},
		{"180 between", []string{"degrees", "180", "from", "between"}, "degrees", "below 180"},
		{"between three legs", []string{"legs", "3", "from", "between"}, "from", "two legs only"},
		{"between, basket of one", append([]string{"legs", "1", "from", "between"}, "hitch", "basket", "bears", "round", "radius", "9"), "", ""},
		{"between, basket of two", append([]string{"from", "between"}, "hitch", "basket", "bears", "round", "radius", "9"), "from", "two legs only"},
		{"too flat by the drawing", []string{"angle", "flat"}, "angle", "too flat"},
		{"centre", []string{"centred", ""}, "centred", "centre of gravity"},
		{"one leg has no angle and no centre", []string{"legs", "1", "angle", "", "centred", ""}, "", ""},
		{"basket of one leg has an angle", []string{"legs", "1", "hitch", "basket", "angle", "", "bears", "round", "radius", "9"}, "angle", "by the drawings"},
		{"what it bears on", []string{"bears", ""}, "bears", "bears on"},
		{"a choke bears on the load", append(append([]string{}, choke...), "bears", "nothing"), "bears", "always bears"},
		{"radius", append(append([]string{}, choke...), "radius", ""), "radius", "Type the radius"},
		{"radius unit", append(append([]string{}, choke...), "radius-unit", ""), "radius-unit", "inches or millimetres"},
		{"angle of choke", append(append([]string{}, choke...), "choke", ""), "choke", "pulled tight"},
		{"whole choke", choke, "", ""},
		{"heat", []string{"heat", ""}, "heat", "hot or very cold"},
		{"temperature", []string{"heat", "other"}, "temperature", "Type the temperature"},
		{"scale", []string{"heat", "other", "temperature", "300", "scale", ""}, "scale", "°F or °C"},
		{"back", []string{"back", ""}, "back", "needed back"},
		{"day", []string{"day", ""}, "day", "Choose the day"},
		{"no such day", []string{"day", "2026-02-30"}, "day", "There is no such day"},
		{"day with words", []string{"day", "Friday"}, "day", "There is no such day"},
		{"yesterday", []string{"day", "2026-03-01"}, "day", "This day is over"},
		{"today", []string{"day", "2026-03-02"}, "", ""},
	} {
		_, wrong := formOf(c.pairs...).read(termsOf(t))
		switch {
		case c.field == "" && len(wrong) > 0:
			t.Errorf("%s: %v", c.name, wrong)
		case c.field != "" && (len(wrong) != 1 || !strings.Contains(wrong[c.field], c.says)):
			t.Errorf("%s: %v, want %s: …%s…", c.name, wrong, c.field, c.says)
		}
	}
}

// TestLiftIsWhatWasSaid: the answers become the lift that the gate is asked about,
// and the gate can be asked about every lift that is complete.
func TestLiftIsWhatWasSaid(t *testing.T) {
	stated, wrong := formOf("known", "papers", "degrees", "52.5").read(termsOf(t))
	l := stated.Lift
	if len(wrong) > 0 || l.Load != 12_000*quantity.Pound || l.Margin != 10 || l.Hitch != gate.Straight || l.Legs != 2 ||
		*l.Angle != (gate.Angle{From: gate.FromHorizontal, Size: 52_500 * quantity.MilliDegree}) || !l.Centred || l.Edge != nil ||
		l.Choke != nil || l.Heat != nil || l.ReturnBy.String() != "2026-03-04" || l.Use != gate.UseOrdinary {
		t.Errorf("%+v %v", l, wrong)
	}
	if stated, _ = formOf().read(termsOf(t)); stated.Lift.Margin != 0 {
		t.Errorf("a weighed load has a margin of %d %%", stated.Lift.Margin)
	}
	if stated, _ = formOf("centred", "no").read(termsOf(t)); stated.Lift.Centred {
		t.Error("a load off centre counts as centred")
	}
}

// TestSpreads holds the drawn answers against plane trigonometry: two legs of one
// length, their ends so many leg lengths apart, lean by acos(half of that) from
// horizontal, and never less than the angle that the answer stands for.
func TestSpreads(t *testing.T) {
	for _, s := range spreads {
		h := math.Acos(float64(s.tenths)/20) * 180 / math.Pi
		if h < float64(s.degrees)-1e-9 {
			t.Errorf("legs whose ends are %d tenths of a leg length apart lean %.3f° from horizontal, less than %d°", s.tenths, h, s.degrees)
		}
		stated, wrong := formOf("angle", s.value).read(termsOf(t))
		if len(wrong) > 0 || !stated.Drawn || *stated.Lift.Angle != (gate.Angle{From: gate.FromHorizontal, Size: s.degrees * quantity.Degree}) {
			t.Errorf("%s: %+v %v", s.value, stated.Lift.Angle, wrong)
		}
	}
}

// TestChokeAngles: the angle that an answer stands for is rated as its whole range
// is, by the gate itself.
func TestChokeAngles(t *testing.T) {
	ranges := map[string][2]quantity.Angle{"120": {121, 179}, "90": {90, 119}, "60": {60, 89}, "30": {30, 59}, "less": {0, 29}}
	if len(ranges) != len(chokeOptions()) {
		t.Fatal("an answer has no range here")
	}
	allowed := func(degrees quantity.Angle) quantity.Mass {
		size := degrees * quantity.Degree
		edge := 100 * quantity.Millimetre
		now, _ := quantity.ParseDate("2026-03-02")
		due, _ := quantity.ParseDate("2026-11-10")
		inspected, _ := quantity.ParseDate("2025-11-10")
		a, err := gate.Decide(gate.Question{ID: "q", Now: now, Policy: gate.DefaultPolicy(),
			Sling: gate.Sling{Plate: plateOf(t, "3/8", 2, rating.H60, 12_300), RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: inspected, Due: due},
			Lift:  &gate.Lift{Use: gate.UseOrdinary, Load: quantity.Tonne, Hitch: gate.Choked, Legs: 1, Choke: &size, Edge: &edge}})
		if err != nil {
			t.Fatal(err)
		}
		return a.Allowed
	}
	for value, ends := range ranges {
		stands := *chokeAngles()[value] / quantity.Degree
		for _, degrees := range ends {
			if allowed(stands) != allowed(degrees) {
				t.Errorf("answer %s stands for %d°, which allows %s; %d° allows %s", value, stands, allowed(stands), degrees, allowed(degrees))
			}
		}
	}
}

// TestEveryWholeLiftCanBeAsked: whatever is answered, a lift without complaints is
// one that the gate decides about, and one with complaints never gets there.
func TestEveryWholeLiftCanBeAsked(t *testing.T) {
	answers := map[string][]string{
		"load": {"12,000", "12,000", "1", "0"}, "unit": {"lb", "kg"}, "known": {"weighed", "papers"}, "special": {"no", "yes"}, "use": {"ordinary", "people", "chemical"},
		"hitch": {"straight", "choke", "basket"}, "legs": {"1", "2", "3", "4"}, "angle": {"60", "45", "30", "degrees", "span", "places", ""},
		"degrees": {"0", "29.999", "45", "90", "120", "x"}, "from": {"horizontal", "vertical", "between"}, "centred": {"yes", "no"},
		"bears": {"nothing", "round"}, "radius": {"0", "2", "75"}, "radius-unit": {"in", "mm"}, "choke": {"120", "90", "60", "30", "less"},
		"heat": {"ordinary", "other"}, "temperature": {"-60", "500"}, "scale": {"F", "C"}, "back": {"2026-03-02", "other"}, "day": {"2026-03-04", "2026-03-04", "2026-02-30"},
		"together": {"", "one", "", "one-hook", "beam", "x"}, "slings": {"2", "4", ""}, "beam": {"0", "500", ""}, "parts": {"equal", "stated"},
		"crane": {"", "", "", "no such"}, "lower": {"", "", "latch-hook", "latch-hook", "x"}, "sure": {"", "12,000"}, "length-unit": {"ft", "m", "ft", ""}, "p1x": {"0", "1"}, "p2x": {"2", "0"},
	}
	terms := termsOf(t)
	inspected, _ := quantity.ParseDate("2025-11-10")
	sling := gate.Sling{Plate: plateOf(t, "3/8", 2, rating.H60, 12_300), RatingTag: gate.TagLegible, State: gate.StateIn, Inspected: inspected, Due: inspected.AddMonths(12)}
	whole := 0
	rapid.Check(t, func(r *rapid.T) {
		f := liftForm{}
		for _, name := range liftFields() {
			of := answers[name]
			if len(of) == 0 { // a length, or what is asked for an estimate
				of = []string{"", "0", "1", "2.5", "-1", "3 ft 6 in", "1000", "x"}
			}
			f[name] = rapid.SampledFrom(of).Draw(r, name)
		}
		before := maps.Clone(f)
		stated, wrong := f.read(terms)
		if !maps.Equal(f, before) {
			r.Fatal("reading changed the answers")
		}
		if len(wrong) > 0 {
			return
		}
		whole++
		lift, against := counter.Of(stated.StatedLift, sling, counter.Part{Shortened: gate.Cradled, Carries: 500 * quantity.Pound}, quantity.Imperial)
		if against != gate.NotDecided {
			return // and it says why
		}
		if _, err := gate.Decide(gate.Question{ID: "q", Now: terms.today, Policy: gate.DefaultPolicy(), Sling: sling, Lift: &lift}); err != nil {
			r.Fatalf("a lift without complaints cannot be asked: %v", err)
		}
	})
	if whole == 0 {
		t.Error("no lift was whole, so nothing was tried")
	}
}

// TestEachLeg: what a leg carries is said only where it follows from the angle
// alone, whatever the angle is measured from.
func TestEachLeg(t *testing.T) {
	for _, c := range []struct {
		name  string
		pairs []string
		want  quantity.Mass // to the pound, rounded up; 0: not said
	}{
		{"60 from horizontal", []string{"degrees", "60"}, 6929 * quantity.Pound}, // 12,000 / (2 sin 60°) = 6,928.2
		{"30 from vertical", []string{"degrees", "30", "from", "vertical"}, 6929 * quantity.Pound},
		{"60 between", []string{"degrees", "60", "from", "between"}, 6929 * quantity.Pound},
		{"30 from horizontal", []string{"degrees", "30"}, 12_000 * quantity.Pound},
		{"choked", []string{"hitch", "choke", "bears", "round", "radius", "4", "choke", "120"}, 6929 * quantity.Pound},
		{"off centre", []string{"centred", "no"}, 0},
		{"three legs", []string{"legs", "3"}, 0},
		{"four legs", []string{"legs", "4"}, 0},
		{"one leg", []string{"legs", "1"}, 0},
		{"basket", []string{"hitch", "basket", "bears", "round", "radius", "9"}, 0},
	} {
		stated, wrong := formOf(c.pairs...).read(termsOf(t))
		if len(wrong) > 0 {
			t.Fatalf("%s: %v", c.name, wrong)
		}
		got, known := eachLeg(stated.Lift, 12_000*quantity.Pound)
		if got.Ceil(quantity.Pound) != c.want || known != (c.want > 0) {
			t.Errorf("%s: %s %t, want %s", c.name, got.InPounds(), known, c.want.InPounds())
		}
	}
}
