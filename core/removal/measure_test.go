package removal

import (
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

// A question that is written reads back as it was.
func TestQuestionRoundTrips(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawQuestion(t)
		line, err := q.MarshalJSON()
		if err != nil {
			for _, h := range q.Found.Hooks {
				if h.Twist%quantity.MilliDegree != 0 {
					return
				}
			}
			t.Fatal(err)
		}
		back, err := ParseQuestion(line)
		if len(q.Found.Seen) == 0 {
			q.Found.Seen = nil
		}
		if err != nil || !reflect.DeepEqual(back, q) {
			t.Fatalf("%s\n%+v\n%+v %v", line, back, q, err)
		}
	})
	q := sound(t, rating.US, "3/8")
	q.Found.Hooks[0].Twist = 1
	if line, err := q.MarshalJSON(); err == nil {
		t.Errorf("half a thousandth of a degree is %s", line)
	}
	if line, err := (Question{}).MarshalJSON(); err == nil {
		if _, err := ParseQuestion(line); err == nil {
			t.Error("the zero Question reads back as one that can be answered")
		}
	}
}

// kindOf are the codes that say that a measure of a kind was crossed.
var kindOf = map[Code][]Kind{
	LinkWorn: {LeastDiameter, MeanDiameter}, LinkThin: {LeastDiameter, MeanDiameter}, Longer: {RunLength}, LegsDiffer: {LegsApart},
	ThroatOpen: {ThroatOpening}, ThroatUnknown: {ThroatOpening}, HookTwisted: {TipTwist}, HookWorn: {HookSection}, HookUnknown: {HookSection},
	PartWorn: {PartThickness}, PartUnknown: {PartThickness},
}

// Every finding of a measurement is a measure that crossed the same limit, with the
// same figures, grade and clause; every measure that crossed one is found, but a link
// that its own system takes out already; and what is used is over 1000 just then.
func TestMeasuresAreWhatIsFound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawQuestion(t)
		a, err := Assess(q)
		if err != nil {
			t.Fatal(err)
		}
		list := Measures(q)
		crossed := 0
		for i, m := range list {
			if m.Grade > 0 && !(i > 0 && m.Kind <= MeanDiameter && list[i-1].Kind <= MeanDiameter && list[i-1].Index == m.Index && list[i-1].Grade == Out) {
				crossed++
			}
			if len(m.Limits) > 0 && (m.Used > 1000) != (m.Grade > Note) {
				t.Fatalf("%+v", m)
			}
			if m.Used < 0 || m.Used > mostUsed || m.Clause == source.None {
				t.Fatalf("%+v", m)
			}
		}
		for _, f := range a.Findings {
			kinds, measured := kindOf[f.Code]
			if !measured {
				continue
			}
			crossed--
			same := func(m Measure) bool {
				if !slices.Contains(kinds, m.Kind) || m.Leg != f.Leg || m.At != f.At || m.What != f.What || m.Grade != f.Grade || m.Clause != f.Clause {
					return false
				}
				return !f.HasFigures() || m.Found == f.Value && slices.ContainsFunc(m.Limits, func(l Limit) bool { return l.Grade == f.Grade && l.At == f.Limit })
			}
			if !slices.ContainsFunc(list, same) {
				t.Fatalf("%+v is no measure of %+v", f, list)
			}
		}
		if crossed != 0 {
			t.Fatalf("%d measures crossed a limit and were not found: %+v\n%+v", crossed, list, a.Findings)
		}
	})
	if Measures(Question{}) != nil {
		t.Error("no question has measures")
	}
}

// How far: half of the way, all of it, one micrometre more; nothing on the other side.
func TestUsed(t *testing.T) {
	for _, c := range []struct {
		why    string
		change func(*Found)
		kind   Kind
		want   int
		grade  Grade
	}{
		{"as new", func(*Found) {}, LeastDiameter, 0, 0},
		{"B30.9, half of what may be lost", func(f *Found) { f.Links[0].D1 = 10_000 - 655 }, LeastDiameter, 500, 0},
		{"all of it", func(f *Found) { f.Links[0].D1 = 8_690 }, LeastDiameter, 1000, 0},
		{"one more", func(f *Found) { f.Links[0].D1 = 8_689 }, LeastDiameter, 1001, Out},
		{"twice of it", func(f *Found) { f.Links[0].D1 = 7_380 }, LeastDiameter, 2000, Out},
		{"EN 818-6, the mean", func(f *Found) { f.Links[0].D1 = 9_000 }, MeanDiameter, 500, 0},
		{"thicker than nominal", func(f *Found) { f.Links[0].D1, f.Links[0].D2 = 10_400, 10_400 }, MeanDiameter, 0, 0},
		{"a third of the growth that holds", func(f *Found) { f.Runs[0].Length = 331_650 }, RunLength, 333, 0},
		{"noted", func(f *Found) { f.Runs[0].Length = 331_651 }, RunLength, 333, Note},
		{"held", func(f *Found) { f.Runs[0].Length = 334_951 }, RunLength, 1001, Hold},
		{"shorter than new", func(f *Found) { f.Runs[0].Length = 300_000 }, RunLength, 0, 0},
		{"a throat that opened by half of 5 %", func(f *Found) { f.Hooks[0].Throat = 28_700 }, ThroatOpening, 500, 0},
		{"a tip at 2°: a note", func(f *Found) { f.Hooks[0].Twist = 2 * quantity.Degree }, TipTwist, 666, Note},
		{"a section at half of 10 %", func(f *Found) { f.Hooks[0].Section = 19_000 }, HookSection, 500, 0},
		{"a part of which nobody knows how it was", func(f *Found) { f.Parts[0].New = 0 }, PartThickness, 0, Hold},
		{"a billion times", func(f *Found) { f.Hooks[0].ThroatNew, f.Hooks[0].Throat = 20, MaxLength }, ThroatOpening, mostUsed, Out},
	} {
		q := sound(t, rating.US, "3/8")
		c.change(&q.Found)
		list := Measures(q)
		at := slices.IndexFunc(list, func(m Measure) bool { return m.Kind == c.kind })
		if got := list[at]; got.Used != c.want || got.Grade != c.grade {
			t.Errorf("%s: %+v", c.why, got)
		}
		if got := Worst(list); got < c.want {
			t.Errorf("%s: the worst is %d", c.why, got)
		}
	}
	q := sound(t, rating.US, "3/8")
	q.Sling.Legs = 2
	q.Found.Links[0].D1 = 9_000
	q.Found.Runs = append(q.Found.Runs, Run{Leg: 2, Links: 9, Length: 275_000})
	list := Measures(q)
	at := slices.IndexFunc(list, func(m Measure) bool { return m.Kind == LegsApart })
	if m := list[at]; m.Leg != 2 || m.Other != 1 || m.Index != 1 || m.New != 270_000 || m.Grade != Hold || m.Limits[1].At != 274_050 {
		t.Errorf("pair %+v", m)
	}
	at = slices.IndexFunc(list, func(m Measure) bool { return m.Kind == RunLength })
	if m := list[at]; m.Wear != 11*2*1_000 || m.Nominal || !list[at+1].Nominal || list[at+1].New != 270_000 {
		t.Errorf("runs %+v", list[at:at+2])
	}
}

func BenchmarkFunction(b *testing.B) {
	q, err := ParseQuestion([]byte(wholeLine))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if a, err := Assess(q); err != nil || a.Verdict != Fit {
			b.Fatal(a, err)
		}
	}
}

func BenchmarkMeasures(b *testing.B) {
	q, err := ParseQuestion([]byte(wholeLine))
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if len(Measures(q)) == 0 {
			b.Fatal("none")
		}
	}
}
