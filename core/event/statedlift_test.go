package event

import (
	"reflect"
	"strings"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/strict"
)

func aStatedLift(legs int, change func(*StatedLift)) StatedLift {
	l := StatedLift{Lift: gate.Lift{Use: gate.UseOrdinary, Load: 9_000 * quantity.Pound, Hitch: gate.Straight, Legs: legs}}
	if change != nil {
		change(&l)
	}
	return l
}

const barelyStated = `"lift":{"use":"ordinary","load_lb":9000,"margin_pct":0,"hitch":"straight","legs":2,"singles":false,"centred":false}`

// A stated lift has one spelling, alone and within another object, and reads back
// exactly.
func TestStatedLiftReadsBack(t *testing.T) {
	hook := quantity.Length(0)
	for _, c := range []struct {
		l    StatedLift
		text string
	}{
		{aStatedLift(2, nil), `{` + barelyStated + `}`},
		{aStatedLift(2, func(l *StatedLift) {
			l.Span, l.Headroom, l.Share, l.Crane, l.Lower, l.Weighed = 2*quantity.Metre, 3*quantity.Metre, OneHook, "yard", Shackle, true
		}), `{` + barelyStated + `,"share":"one-hook","crane":"yard","lower":"shackle","span_mm":2000,"headroom_mm":3000,"weighed":true}`},
		{aStatedLift(2, func(l *StatedLift) {
			l.Share, l.Slings, l.Beam, l.Stated, l.Drawn = Beam, 3, 250*quantity.Pound, true, true
			l.Lift.Angle = &gate.Angle{From: gate.BetweenLegs, Size: 60 * quantity.Degree}
		}), `{` + strings.Replace(barelyStated, `"centred"`, `"angle":{"from":"between","mdeg":60000},"centred"`, 1) + `,"share":"beam","slings":3,"beam_10ug":11339809250,"stated":true,"drawn":true}`},
		{aStatedLift(2, func(l *StatedLift) {
			l.Lift.Picks, l.Lift.CG, l.Lift.Hook = []lift.Point{{X: quantity.Metre}, {Y: -quantity.Metre}}, &lift.Point{}, &hook
		}), `{` + strings.TrimSuffix(barelyStated, "}") + `,"picks":[{"x_mm":1000,"y_mm":0,"z_mm":0},{"x_mm":0,"y_mm":-1000,"z_mm":0}],"cg":{"x_mm":0,"y_mm":0,"z_mm":0},"hook_mm":0}}`},
	} {
		text, err := c.l.MarshalJSON()
		if err != nil || string(text) != c.text {
			t.Errorf("written\n%s\nwant\n%s\n%v", text, c.text, err)
		}
		if back, err := ParseStatedLift([]byte(c.text)); err != nil || !reflect.DeepEqual(back, c.l) {
			t.Errorf("%s: read %+v, %v", c.text, back, err)
		}
		var w strict.Writer
		w.Begin()
		c.l.Write(&w, "for")
		w.End()
		inside, err := w.Bytes()
		if err != nil || string(inside) != `{"for":`+c.text+`}` {
			t.Errorf("inside another object: %s, %v", inside, err)
		}
	}
}

// What is no stated lift is neither read nor written.
func TestStatedLiftsThatCannotBe(t *testing.T) {
	for _, more := range []string{
		`,"share":"two"`, `,"slings":2`, `,"beam_10ug":1`, `,"stated":true`, `,"share":"beam"`, `,"share":"beam","slings":1`,
		`,"span_mm":-1`, `,"span_mm":1000001`, `,"span_mm":1.5`, `,"headroom_mm":1`, `,"lower":"string"`, `,"load":1`, `,"crane":7`, `,"span_mm":1,"span_mm":1`,
	} {
		if l, err := ParseStatedLift([]byte(`{` + barelyStated + more + `}`)); err == nil || !reflect.DeepEqual(l, StatedLift{}) {
			t.Errorf("%s: %+v, %v", more, l, err)
		}
	}
	for _, text := range []string{``, `{}`, `[]`, `{"lift":{}}`, `{` + barelyStated + `} ` + `x`} {
		if _, err := ParseStatedLift([]byte(text)); err == nil {
			t.Errorf("%q is read", text)
		}
	}
	for name, change := range map[string]func(*StatedLift){
		"a span beside an angle": func(l *StatedLift) {
			l.Span, l.Lift.Angle = quantity.Metre, &gate.Angle{From: gate.FromVertical, Size: 0}
		},
		"a span beside picks":         func(l *StatedLift) { l.Span, l.Lift.Picks = quantity.Metre, make([]lift.Point, 2) },
		"a span of half a millimetre": func(l *StatedLift) { l.Span = quantity.Millimetre / 2 },
		"a span of one leg":           func(l *StatedLift) { l.Span, l.Lift.Legs = quantity.Metre, 1 },
		"one sling that shares":       func(l *StatedLift) { l.Share, l.Lift.Legs = OneHook, 1 },
		"a beam below nothing":        func(l *StatedLift) { l.Share, l.Slings, l.Beam = Beam, 2, -1 },
		"what one sling is asked":     func(l *StatedLift) { l.Lift.Shortened = gate.Cradled },
		"singles without a share":     func(l *StatedLift) { l.Lift.Singles = true },
		"no load":                     func(l *StatedLift) { l.Lift.Load = 1 },
	} {
		if text, err := aStatedLift(2, change).MarshalJSON(); err == nil {
			t.Errorf("%s: written as %s", name, text)
		}
	}
}

// What the site adds is what it adds when it is asked, and nothing to what was weighed.
func TestStatedLiftUnder(t *testing.T) {
	for _, c := range []struct {
		weighed          bool
		stated, is, want int
	}{{false, 0, 25, 25}, {false, 25, 0, 0}, {true, 25, 25, 0}, {true, 0, 25, 0}} {
		l := aStatedLift(2, func(l *StatedLift) { l.Weighed, l.Lift.Margin = c.weighed, c.stated })
		if got := l.Under(Policy{MarginPct: c.is}); got.Lift.Margin != c.want || got.Lift.Load != l.Lift.Load {
			t.Errorf("%+v: %d %%", c, got.Lift.Margin)
		}
	}
}
