package removal

import (
	"errors"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

func TestNotMeasured(t *testing.T) {
	own := Part{What: Pin, Leg: 1, New: 10_000, Thinnest: 10_000}
	shared := Part{What: Coupling, New: 10_000, Thinnest: 10_000}
	for _, c := range []struct {
		why    string
		change func(*Question)
		want   []string
	}{
		{"nothing at all", func(q *Question) { q.Found = Found{} }, []string{"master 0", " 1"}},
		{"no link", func(q *Question) { q.Found.Links = nil }, []string{" 1"}},
		{"no run", func(q *Question) { q.Found.Runs = nil }, []string{" 1"}},
		{"no hook", func(q *Question) { q.Found.Hooks = nil }, []string{" 1"}},
		{"a part of its own for a hook", func(q *Question) { q.Found.Hooks = nil; q.Found.Parts = append(q.Found.Parts, own) }, nil},
		{"a shared part is nobody's", func(q *Question) { q.Found.Hooks = nil; q.Found.Parts = append(q.Found.Parts, shared) }, []string{" 1"}},
		{"no master", func(q *Question) { q.Found.Parts = []Part{own} }, []string{"master 0"}},
		{"the other legs", func(q *Question) { q.Sling.Legs = 4 }, []string{" 2", " 3", " 4"}},
	} {
		q := sound(t, rating.EN, "10")
		c.change(&q)
		a := assess(t, q)
		var got []string
		for _, f := range a.Findings {
			if f.Code == NotMeasured && f.Grade == Hold {
				got = append(got, fmt.Sprint(f.What, " ", f.Leg))
			}
		}
		if !slices.Equal(got, c.want) || len(got) != len(a.Findings) {
			t.Errorf("%s: %q, want %q", c.why, got, c.want)
		}
		if (a.Verdict == Fit) != (len(c.want) == 0) || a.Verdict == OutOfService {
			t.Errorf("%s: verdict %s", c.why, a.Verdict)
		}
	}
}

func TestSeen(t *testing.T) {
	hold := []Code{Nick, Gouge, Pitting, StiffLink, WornSeat, CouplerStiff, WeldSpatter, ShockLoad, Overload}
	for _, c := range SeenCodes() {
		q := sound(t, rating.US, "3/8")
		q.Found.Seen = []Code{c, c}
		want, verdict := "out", OutOfService
		if slices.Contains(hold, c) {
			want, verdict = "hold", Held
		}
		a := assess(t, q)
		if got := briefs(a); !slices.Equal(got, []string{c.String() + " " + want, c.String() + " " + want}) || a.Verdict != verdict {
			t.Errorf("%s: %q, %s", c, got, a.Verdict)
		}
	}
	if n := len(SeenCodes()); n != 23 {
		t.Errorf("%d words", n)
	}
}

func TestVerdict(t *testing.T) {
	for _, c := range []struct {
		grades []Grade
		want   Verdict
	}{
		{nil, Fit}, {[]Grade{Note}, Fit}, {[]Grade{Note, Hold, Note}, Held}, {[]Grade{Hold, Out, Note}, OutOfService}, {[]Grade{Out}, OutOfService},
	} {
		var list []Finding
		for _, g := range c.grades {
			list = append(list, Finding{Grade: g})
		}
		if got := verdict(list); got != c.want {
			t.Errorf("%v: %s", c.grades, got)
		}
	}
	if (Answer{}).Verdict != Held || (Answer{}).Verdict.String() != "hold" || Verdict(9).String() != "" || Grade(9).String() != "" {
		t.Error("the zero Answer does not hold")
	}
}

func TestEveryCodeIsWhole(t *testing.T) {
	words := map[string]bool{}
	for c := LinkWorn; c < codeEnd; c++ {
		r := c.row()
		if r.word == "" || r.says == "" || words[r.word] || (r.seen != 0) != (c >= Crack) || (r.clause != source.None) != (c >= Crack) {
			t.Errorf("code %d: %+v", c, r)
		}
		words[r.word] = true
		if back, ok := ParseSeen(r.word); ok != (c >= Crack) || ok && back != c {
			t.Errorf("ParseSeen(%q) = %d, %v", r.word, back, ok)
		}
	}
	if _, ok := ParseSeen(""); ok || Code(0).String() != "" || codeEnd.String() != "" || Code(255).Says() != "" || Crack.SeenGrade() != Out {
		t.Error("no code is one")
	}
	for _, l := range []Latch{LatchGood, LatchNone, LatchBent, LatchMissing} {
		if back, ok := ParseLatch(l.String()); !ok || back != l {
			t.Errorf("latch %d does not read back", l)
		}
	}
	for w := Master; w <= Adjuster; w++ {
		if back, ok := ParseWhat(w.String()); !ok || back != w {
			t.Errorf("part %d does not read back", w)
		}
	}
}

// A question put together in Go is checked as a line is; the zero Question is an error.
func TestQuestionOutOfRange(t *testing.T) {
	if a, err := Assess(Question{}); !errors.Is(err, ErrQuestion) || a.Verdict != Held {
		t.Errorf("the zero Question: %v, %v", a, err)
	}
	for i, change := range []func(*Question){
		func(q *Question) { q.Sling.Grade = 0 },
		func(q *Question) { q.Sling.Size = rating.Size{} },
		func(q *Question) { q.Sling.Legs = 0 },
		func(q *Question) { q.Sling.Legs = 5 },
		func(q *Question) { q.Found.Runs = make([]Run, MaxRuns+1) },
		func(q *Question) { q.Found.Links[0].Leg = 0 },
		func(q *Question) { q.Found.Links[0].Leg = 2 },
		func(q *Question) { q.Found.Links[0].At = 0 },
		func(q *Question) { q.Found.Links[0].At = MaxCount + 1 },
		func(q *Question) { q.Found.Links[0].D1 = 0 },
		func(q *Question) { q.Found.Links[0].D2 = MaxLength + 1 },
		func(q *Question) { q.Found.Runs[0].Leg = 2 },
		func(q *Question) { q.Found.Runs[0].Links = 0 },
		func(q *Question) { q.Found.Runs[0].New = -1 },
		func(q *Question) { q.Found.Runs[0].Length = 0 },
		func(q *Question) { q.Found.Hooks[0].Leg = -1 },
		func(q *Question) { q.Found.Hooks[0].ThroatNew = -1 },
		func(q *Question) { q.Found.Hooks[0].Throat = 0 },
		func(q *Question) { q.Found.Hooks[0].Twist = -1 },
		func(q *Question) { q.Found.Hooks[0].Twist = MaxTwist + 1 },
		func(q *Question) { q.Found.Hooks[0].SectionNew = MaxLength + 1 },
		func(q *Question) { q.Found.Hooks[0].Section = 0 },
		func(q *Question) { q.Found.Hooks[0].Latch = 0 },
		func(q *Question) { q.Found.Hooks[0].Latch = LatchMissing + 1 },
		func(q *Question) { q.Found.Parts[0].What = 0 },
		func(q *Question) { q.Found.Parts[0].Leg = 1 },
		func(q *Question) { q.Found.Parts = []Part{{What: Pin, Leg: 2, Thinnest: 1}} },
		func(q *Question) { q.Found.Parts[0].New = -1 },
		func(q *Question) { q.Found.Parts[0].Thinnest = 0 },
		func(q *Question) { q.Found.Seen = []Code{0} },
		func(q *Question) { q.Found.Seen = []Code{LinkWorn} },
		func(q *Question) { q.Found.Seen = []Code{codeEnd} },
	} {
		q := sound(t, rating.US, "3/8")
		change(&q)
		if a, err := Assess(q); !errors.Is(err, ErrQuestion) || a.Verdict == Fit || a.Findings != nil {
			t.Errorf("change %d: %v, %v", i, a, err)
		}
	}
}

// As many runs as are allowed are answered.
func TestMostRuns(t *testing.T) {
	q := sound(t, rating.US, "3/8")
	q.Found.Runs = slices.Repeat(q.Found.Runs, MaxRuns)
	if a := assess(t, q); a.Verdict != Fit {
		t.Errorf("%d findings", len(a.Findings))
	}
}

// Growth that worn seats explain: 11 links × twice the mean loss.
func TestSeatWear(t *testing.T) {
	q := sound(t, rating.US, "3/8")
	q.Found.Links = []Link{{1, 1, 9_900, 9_800}, {1, 2, 9_700, 10_200}}
	q.Found.Runs[0].Length = 337_000
	a := assess(t, q)
	if len(a.Findings) != 1 || a.Findings[0].Wear != 11*2*250 || a.Findings[0].Grade != Hold {
		t.Errorf("findings %+v", a.Findings)
	}
	q.Found.Links[0], q.Found.Links[1] = Link{1, 1, 11_000, 11_000}, Link{1, 2, 10_500, 10_500}
	if a := assess(t, q); a.Findings[0].Wear != 0 {
		t.Errorf("links thicker than nominal explain %d", a.Findings[0].Wear)
	}
	q.Found.Links = nil
	if a := assess(t, q); a.Findings[0].Wear != 0 {
		t.Errorf("no link explains %d", a.Findings[0].Wear)
	}
}

// gravity orders verdicts by weight.
var gravity = map[Verdict]int{Fit: 0, Held: 1, OutOfService: 2}

// More wear, stretch, opening or twist, less knowledge, or one more thing seen never lifts a verdict.
func TestWorseNeverLifts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawQuestion(t)
		before, err := Assess(q)
		if err != nil {
			t.Fatal(err)
		}
		by := quantity.Length(rapid.Int64Range(0, 5000).Draw(t, "by"))
		f := &q.Found
		pick := func(n int) int { return rapid.IntRange(0, n-1).Draw(t, "which") }
		switch kind := rapid.IntRange(0, 8).Draw(t, "kind"); {
		case kind == 0 && len(f.Links) > 0:
			l := &f.Links[pick(len(f.Links))]
			l.D1 = max(1, l.D1-by)
		case kind == 1 && len(f.Runs) > 0:
			// The run that is longest per link: stretching a shorter one makes legs match.
			r := &f.Runs[0]
			for i := range f.Runs {
				if int64(f.Runs[i].Length)*r.Links > int64(r.Length)*f.Runs[i].Links {
					r = &f.Runs[i]
				}
			}
			r.Length = min(MaxLength, r.Length+by)
		case kind == 2 && len(f.Hooks) > 0:
			h := &f.Hooks[pick(len(f.Hooks))]
			h.Throat = min(MaxLength, h.Throat+by)
		case kind == 3 && len(f.Hooks) > 0:
			h := &f.Hooks[pick(len(f.Hooks))]
			h.Twist = min(MaxTwist, h.Twist+quantity.Angle(by))
		case kind == 4 && len(f.Hooks) > 0:
			h := &f.Hooks[pick(len(f.Hooks))]
			h.Section = max(1, h.Section-by)
		case kind == 5 && len(f.Parts) > 0:
			p := &f.Parts[pick(len(f.Parts))]
			p.Thinnest = max(1, p.Thinnest-by)
		case kind == 6:
			f.Seen = append(f.Seen, rapid.SampledFrom(SeenCodes()).Draw(t, "seen"))
		case kind == 7 && len(f.Hooks) > 0:
			f.Hooks[pick(len(f.Hooks))].Latch = LatchBent
		case kind == 8 && q.Sling.Legs < 4:
			q.Sling.Legs++
		}
		after, err := Assess(q)
		if err != nil {
			t.Fatal(err)
		}
		if gravity[after.Verdict] < gravity[before.Verdict] {
			t.Fatalf("%s became %s", before.Verdict, after.Verdict)
		}
	})
}

func ExampleAssess() {
	q, err := ParseQuestion([]byte(`{"id":"m1","rules":"us","sling":{"grade":80,"size":"3/8","legs":1},
		"found":{"links":[{"leg":1,"at":4,"d1_um":9400,"d2_um":8650}],
		"runs":[{"leg":1,"links":11,"new_um":330000,"length_um":332000}],
		"hooks":[],"parts":[{"what":"master","new_um":16000,"thinnest_um":15800}],"seen":[]}}`))
	if err != nil {
		fmt.Println(err)
		return
	}
	a, err := Assess(q)
	fmt.Println(a.Verdict, err)
	for _, f := range a.Findings {
		fmt.Println(f.Grade, f.Code.Says(), f.Leg, f.Value, f.Limit)
	}
	// Output:
	// out <nil>
	// out link worn below the least thickness 1 8.65 mm 8.69 mm
	// note chain longer than new 1 332 mm 331.65 mm
	// hold not measured 1 0 mm 0 mm
}
