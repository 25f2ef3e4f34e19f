package gate

import (
	"encoding/json"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"

	"pgregory.net/rapid"
)

func mustParse(t testing.TB, line string) Question {
	t.Helper()
	q, err := ParseQuestion([]byte(line))
	if err != nil {
		t.Fatal(err)
	}
	return q
}

func mustDecide(t interface{ Fatalf(string, ...any) }, q Question) Answer {
	a, err := Decide(q)
	if err != nil {
		t.Fatalf("%v", err)
	}
	return a
}

func TestZeroRefuses(t *testing.T) {
	var a Answer
	if a.May() || a.Verdict() != Refuse || a.Verdict().String() != "refuse" {
		t.Errorf("the zero Answer is %v", a.Verdict())
	}
	if line, err := a.MarshalJSON(); !errors.Is(err, ErrUndecided) {
		t.Errorf("the zero Answer is written: %s, %v", line, err)
	}
	if a, err := Decide(Question{}); err == nil || a.May() {
		t.Errorf("the zero Question: %+v, %v", a, err)
	}
	q := mustParse(t, goodLine)
	for _, spoil := range []func(*Question){
		func(q *Question) { q.Policy = Policy{} },
		func(q *Question) { q.Now = quantity.Date{} },
		func(q *Question) { q.Sling = Sling{} },
		func(q *Question) { q.Lift = new(Lift) },
		func(q *Question) { q.Lift.Use = 99 },
		func(q *Question) { q.Lift.Hitch = 99 },
		func(q *Question) { q.Lift.Shortened = 99 },
		func(q *Question) { q.Lift.Angle.From = 99 },
		func(q *Question) { q.Policy.Choke = 99 },
		func(q *Question) { q.Sling.State = 99 },
	} {
		bad := q
		lift, angle := *q.Lift, *q.Lift.Angle
		bad.Lift, lift.Angle = &lift, &angle
		spoil(&bad)
		var e *QuestionError
		if a, err := Decide(bad); !errors.As(err, &e) || a.May() || a.ID != "q" && bad.ID != "" {
			t.Errorf("%+v: %+v, %v", bad, a, err)
		}
	}
}

// alter gives a copy of the question that may be changed.
func alter(q Question, change func(*Lift)) Question {
	l := *q.Lift
	if l.Angle != nil {
		angle := *l.Angle
		l.Angle = &angle
	}
	change(&l)
	q.Lift = &l
	return q
}

// Nothing that makes a lift harder turns a refusal into an issue or raises
// what is allowed.
func TestHarderNeverHelps(t *testing.T) {
	compared := 0
	rapid.Check(t, func(t *rapid.T) {
		m := maker{rand.New(rand.NewPCG(rapid.Uint64().Draw(t, "seed"), 2))}
		raw := m.question()
		if raw.Lift == nil {
			return
		}
		if _, limits, err := askOracle(raw); err == nil {
			m.atLimit(raw, limits)
		}
		line, err := json.Marshal(raw)
		if err != nil {
			t.Fatalf("%v", err)
		}
		q, err := ParseQuestion(line)
		if err != nil {
			return
		}
		before, err := Decide(q)
		if err != nil {
			return
		}
		harder := map[string]func(*Lift){
			"a gram more": func(l *Lift) { l.Load = (l.Load + quantity.Gram).Floor(quantity.Gram) },
			"margin":      func(l *Lift) { l.Margin = min(1000, l.Margin+10) },
			"not centred": func(l *Lift) { l.Centred = false },
			"hot":         func(l *Lift) { h := quantity.Fahrenheit(600); l.Heat = warmer(l.Heat, h) },
			"hotter":      func(l *Lift) { h := quantity.Celsius(400); l.Heat = warmer(l.Heat, h) },
			"people":      func(l *Lift) { l.Use = UsePeople },
			"sharp edge":  func(l *Lift) { r := quantity.Length(0); l.Edge = &r },
		}
		if q.Lift.Angle != nil {
			harder["flatter"] = func(l *Lift) { flatten(l.Angle) }
		}
		if q.Lift.Choke != nil {
			harder["sharper choke"] = func(l *Lift) { a := max(0, *l.Choke-10*quantity.Degree); l.Choke = &a }
		}
		if q.Lift.Choke == nil && q.Lift.Edge == nil && q.Lift.Hitch != Straight {
			delete(harder, "sharp edge") // incomplete becomes complete
		}
		if q.Lift.Edge == nil && q.Lift.Hitch != Straight {
			delete(harder, "sharp edge")
		}
		for name, change := range harder {
			after, err := Decide(alter(q, change))
			if err != nil {
				continue // now contradicts: not issued
			}
			compared++
			if after.May() && !before.May() || after.Allowed > before.Allowed && after.Scope == ByAngle {
				t.Fatalf("%s: %+v\n before %+v\n of %s", name, after, before, line)
			}
		}
	})
	least := 200
	if testing.Short() {
		least = 20 // rapid then makes a fifth of its checks
	}
	if compared < least {
		t.Errorf("only %d comparisons", compared)
	}
}

// warmer keeps what is too cold out of it: warming a cold chain does help.
func warmer(now *quantity.Temperature, to quantity.Temperature) *quantity.Temperature {
	if now != nil && (*now < quantity.Celsius(0) || *now > to) {
		return now
	}
	return &to
}

func flatten(a *Angle) {
	switch a.From {
	case FromHorizontal:
		a.Size = max(a.Size-10*quantity.Degree, quantity.MilliDegree)
	case FromVertical:
		a.Size = min(a.Size+10*quantity.Degree, 90*quantity.Degree-quantity.MilliDegree)
	case BetweenLegs:
		a.Size = min(a.Size+20*quantity.Degree, 180*quantity.Degree-quantity.MilliDegree)
	}
}

// What is stored with an issue answers the same when it is read years later,
// and the working is of the very same answer.
func TestReplayAndWorking(t *testing.T) {
	for _, line := range readLines(t, "testdata/decide.questions.jsonl") {
		q, err := ParseQuestion(line)
		if err != nil {
			continue
		}
		first, err := Decide(q)
		if err != nil {
			continue
		}
		stored, err := q.MarshalJSON()
		if err != nil {
			t.Fatal(err)
		}
		again := mustDecide(t, mustParse(t, string(stored)))
		explained, err := Explain(q)
		if err != nil {
			t.Fatal(err)
		}
		a, _ := first.MarshalJSON()
		b, _ := again.MarshalJSON()
		c, _ := explained.MarshalJSON()
		if string(a) != string(b) || string(a) != string(c) {
			t.Errorf("answers\n %s\n %s\n %s", a, b, c)
		}
		if first.Working != nil || len(explained.Working) == 0 && explained.System != 0 && !slices.Contains(first.Reasons, NoListedRating) {
			t.Errorf("%s: %d steps without asking, %d when asked", q.ID, len(first.Working), len(explained.Working))
		}
		for _, s := range explained.Working {
			if s.Source == source.None || s.What == "" || s.Figure.Text(quantity.Imperial) == "" {
				t.Errorf("%s: step %+v is not whole", q.ID, s)
			}
		}
	}
}

func TestWorkingOfOneAnswer(t *testing.T) {
	q := mustParse(t, change(t, goodLine, `"temp_c":20`, `"temp_f":600`, `"edge_radius_mm":null`, `"edge_radius_mm":15`, `"centred":true`, `"centred":false`))
	a, err := Explain(q)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, s := range a.Working {
		got = append(got, fmt.Sprintf("%s: %s [%s]", s.What, s.Figure.Text(quantity.Imperial), s.Source.Key()))
	}
	want := []string{
		"single-leg rating listed: 7,100 lb [osha-table-1]",
		"single-leg rating of this sling: 7,100 lb [osha-table-1]",
		"load to be lifted, with margin: 8,818 lb [load-margin]",
		"left while hot: × 0.8 [heat-table-us]",
		"angle of the legs from horizontal: 50° [lower-angle]",
		"band: 45° from horizontal [lower-angle]",
		"edge: × 0.7 [edge-radius]",
		"balance not stated: × 0.5 [half-when-off]",
		"rated load of the legs, 45° from horizontal: 10,000 lb [osha-table-1]",
		"allowed for this lift: 2,800 lb [osha-table-1]",
	}
	if !slices.Equal(got, want) {
		t.Errorf("working\n %s\nwant\n %s", strings.Join(got, "\n "), strings.Join(want, "\n "))
	}
	if a.Allowed != 2_800*quantity.Pound {
		t.Errorf("allowed %v", a.Allowed.InPounds())
	}
}

func TestCapacityHasNoLift(t *testing.T) {
	q := mustParse(t, goodLine)
	q.Lift = nil
	a := mustDecide(t, q)
	line, err := a.MarshalJSON()
	const want = `{"id":"q","verdict":"issue","reasons":[],"capacity":{"h60_g":5579186,"h45_g":4535924,"h30_g":3220506}}`
	if err != nil || string(line) != want {
		t.Errorf("%s, %v; want %s", line, err, want)
	}
	one := q
	one.Sling.Legs, one.Sling.Stamped = 1, []rating.Stamp{{Legs: 1, Basis: rating.Vertical, Load: 7_100 * quantity.Pound}}
	one.Policy.Choke = ChokeStrict
	if a := mustDecide(t, one); len(a.Capacity) != 2 || a.Capacity[1].Load != 5_325*quantity.Pound || !a.Capacity[1].Choked {
		t.Errorf("one leg, choked at most 75 %%: %+v", a.Capacity)
	}
	hot := quantity.Fahrenheit(1001)
	one.Sling.Hottest = &hot
	if a := mustDecide(t, one); a.May() || a.Capacity[0].Load != 0 || !slices.Equal(a.Reasons, []Reason{HeatScrapped}) {
		t.Errorf("scrapped: %+v", a)
	}
}

func BenchmarkDecide(b *testing.B) {
	for name, line := range map[string]string{"angle": goodLine, "picks": picksLine} {
		q := mustParse(b, line)
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if a, err := Decide(q); err != nil || !a.May() {
					b.Fatal(a, err)
				}
			}
		})
		b.Run(name+"/into", func(b *testing.B) {
			b.ReportAllocs()
			var a Answer
			for b.Loop() {
				if err := DecideInto(&a, &q); err != nil || !a.May() {
					b.Fatal(a, err)
				}
			}
		})
	}
}

func BenchmarkLine(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		q, err := ParseQuestion([]byte(goodLine))
		if err != nil {
			b.Fatal(err)
		}
		a, err := Decide(q)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := a.MarshalJSON(); err != nil {
			b.Fatal(err)
		}
	}
}
