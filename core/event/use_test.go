package event

import (
	"fmt"
	"reflect"
	"testing"

	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// asks is a verdict on a lift as the register keeps it.
func asks(t testing.TB, lift gate.Lift, answer string) Verdict {
	t.Helper()
	size, err := rating.ParseSize(rating.EN, "10")
	if err != nil {
		t.Fatal(err)
	}
	now, _ := quantity.NewDate(2026, 3, 2)
	q := gate.Question{ID: "q", Now: now, Policy: gate.DefaultPolicy(), Lift: &lift, Sling: gate.Sling{
		Plate:     rating.Plate{System: rating.EN, Grade: rating.Grade80, Size: size, Legs: 1, Stamped: []rating.Stamp{{Legs: 1, Basis: rating.Vertical, Load: 3150 * quantity.Kilogram}}},
		RatingTag: gate.TagLegible, State: gate.StateIn}}
	text, err := q.MarshalJSON()
	if err != nil {
		t.Fatal(err)
	}
	if _, err := gate.ParseQuestion(text); err != nil {
		t.Fatal(err)
	}
	return Verdict{Question: string(text), Answer: answer, Edition: "1"}
}

func plainLift(change func(*gate.Lift)) gate.Lift {
	l := gate.Lift{Use: gate.UseOrdinary, Load: 1000 * quantity.Kilogram, Hitch: gate.Straight, Legs: 1, Centred: true}
	if change != nil {
		change(&l)
	}
	return l
}

// What the lift asked is read off the verdict that let the sling go: both sides of
// each limit.
func TestUse(t *testing.T) {
	at := func(temp quantity.Temperature) func(*gate.Lift) { return func(l *gate.Lift) { l.Heat = &temp } }
	over := func(radius quantity.Length) func(*gate.Lift) { return func(l *gate.Lift) { l.Edge = &radius } }
	answer := func(needs, may int) string { return fmt.Sprintf(`{"required_g":%d,"allowed_g":%d}`, needs, may) }
	for _, c := range []struct {
		name string
		v    Verdict
		want Use
	}{
		{"nothing asked", Verdict{}, Use{}},
		{"cannot be read", Verdict{Question: "{}", Answer: answer(1, 2)}, Use{}},
		{"figures missing", asks(t, plainLift(nil), `{}`), Use{Stated: true}},
		{"half", asks(t, plainLift(nil), answer(1_000_000, 2_000_000)), Use{Stated: true, Share: 50}},
		{"a gram over 79 %", asks(t, plainLift(nil), answer(790_001, 1_000_000)), Use{Stated: true, Share: 80}},
		{"just 79 %", asks(t, plainLift(nil), answer(790_000, 1_000_000)), Use{Stated: true, Share: 79}},
		{"a leg works harder", asks(t, plainLift(nil), `{"required_g":10,"allowed_g":100,"leg_g":90,"leg_allowed_g":100}`), Use{Stated: true, Share: 90}},
		{"may carry nothing", asks(t, plainLift(nil), answer(1, 0)), Use{Stated: true, Share: mostShare}},
		{"far too much", asks(t, plainLift(nil), answer(1_000_000, 1)), Use{Stated: true, Share: mostShare}},
		{"199 °F", asks(t, plainLift(at(quantity.Fahrenheit(199))), `{}`), Use{Stated: true}},
		{"200 °F", asks(t, plainLift(at(quantity.Fahrenheit(200))), `{}`), Use{Stated: true, Hot: true}},
		{"over 20 mm, twice the chain", asks(t, plainLift(over(20*quantity.Millimetre)), `{}`), Use{Stated: true, Edge: true}},
		{"over 21 mm", asks(t, plainLift(over(21*quantity.Millimetre)), `{}`), Use{Stated: true}},
		{"choked", asks(t, plainLift(func(l *gate.Lift) { l.Hitch = gate.Choked }), `{}`), Use{Stated: true, Choked: true}},
		{"shortened", asks(t, plainLift(func(l *gate.Lift) { l.Shortened = gate.Plain }), `{}`), Use{Stated: true, Shortened: true}},
	} {
		b := Issued{Serial: 1, Verdict: c.v, Use: UseOf(c.v)}
		if b.Use != c.want {
			t.Errorf("%s: %+v, want %+v", c.name, b.Use, c.want)
		}
		text, err := Encode(b)
		if err != nil {
			t.Fatal(err)
		}
		if back, err := Decode(KindIssued, SchemaOf(b), text); err != nil || !reflect.DeepEqual(back, b) {
			t.Errorf("%s: read back %+v, %v", c.name, back, err)
		}
	}
}
