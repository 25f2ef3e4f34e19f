package removal

import (
	"fmt"
	"slices"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/source"
)

func size(t testing.TB, s rating.System, printed string) rating.Size {
	t.Helper()
	z, err := rating.ParseSize(s, printed)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// sound is a question without findings, for one leg.
func sound(t testing.TB, s rating.System, printed string) Question {
	z := size(t, s, printed)
	d := z.Nominal()
	return Question{
		Sling: Sling{Grade: rating.Grade80, Size: z, Legs: 1},
		Found: Found{
			Links: []Link{{Leg: 1, At: 4, D1: d, D2: d}},
			Runs:  []Run{{Leg: 1, Links: 11, New: 33 * d, Length: 33 * d}},
			Hooks: []Hook{{Leg: 1, ThroatNew: 28_000, Throat: 28_000, SectionNew: 20_000, Section: 20_000, Latch: LatchGood}},
			Parts: []Part{{What: Master, New: 16_000, Thinnest: 16_000}},
		},
	}
}

func assess(t testing.TB, q Question) Answer {
	t.Helper()
	a, err := Assess(q)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// brief is a finding as "code grade value/limit".
func brief(f Finding) string {
	s := f.Code.String() + " " + f.Grade.String()
	if f.HasFigures() {
		s += fmt.Sprintf(" %d/%d", f.Value, f.Limit)
	}
	return s
}

func briefs(a Answer) []string {
	list := make([]string, len(a.Findings))
	for i, f := range a.Findings {
		list[i] = brief(f)
	}
	return list
}

// Least diameters of B30.9 and nine tenths of EN 818-6, one micrometre to either
// side, under both systems.
func TestLinkThickness(t *testing.T) {
	for _, c := range []struct {
		us, en string // the same chain in both systems; empty where one has none
		least  quantity.Length
		mean   quantity.Length
	}{
		{"7/32", "", 4_800, 4_950},      // B30.9 0.189 in, from memory
		{"", "6", 5_197, 5_400},         // √0.75 × 6 mm, computed
		{"9/32", "7", 6_070, 6_300},     // B30.9 0.239 in
		{"5/16", "8", 6_930, 7_200},     // B30.9 0.273 in, from memory
		{"3/8", "10", 8_690, 9_000},     // B30.9 0.342 in
		{"1/2", "13", 11_260, 11_700},   // B30.9 0.443 in
		{"5/8", "16", 13_870, 14_400},   // B30.9 0.546 in
		{"", "19", 16_455, 17_100},      // √0.75 × 19 mm, computed
		{"3/4", "20", 17_450, 18_000},   // B30.9 0.687 in, from memory
		{"7/8", "22", 19_050, 19_800},   // B30.9 0.750 in
		{"1", "26", 22_530, 23_400},     // B30.9 0.887 in
		{"1-1/4", "32", 27_710, 28_800}, // B30.9 1.091 in
	} {
		thick := 3 * c.mean // the other way of a link with one worn side
		for _, x := range []struct {
			d1, d2 quantity.Length
			us, en string
		}{
			{c.least, thick, "", ""},
			{thick, c.least, "", ""},
			{c.least - 1, thick, fmt.Sprintf("link-worn out %d/%d", c.least-1, c.least), fmt.Sprintf("link-thin hold %d/%d", c.least-1, c.least)},
			{c.mean, c.mean, "", ""},
			{c.mean + 1, c.mean - 1, "", ""},
			{c.mean, c.mean - 1, fmt.Sprintf("link-thin hold %d/%d", c.mean-1, c.mean), fmt.Sprintf("link-worn out %d/%d", c.mean-1, c.mean)},
			{c.least - 1, c.least - 1, fmt.Sprintf("link-worn out %d/%d", c.least-1, c.least), fmt.Sprintf("link-worn out %d/%d", c.least-1, c.mean)},
		} {
			for _, y := range []struct {
				system  rating.System
				printed string
				want    string
			}{{rating.US, c.us, x.us}, {rating.EN, c.en, x.en}} {
				if y.printed == "" {
					continue
				}
				q := sound(t, y.system, y.printed)
				q.Found.Links[0].D1, q.Found.Links[0].D2 = x.d1, x.d2
				got := briefs(assess(t, q))
				if y.want == "" && len(got) != 0 || y.want != "" && !slices.Equal(got, []string{y.want}) {
					t.Errorf("%s %d and %d: %q, want %q", q.Sling.Size.Words(), x.d1, x.d2, got, y.want)
				}
			}
		}
	}
}

// Every size of both systems has a row, no row is unused, and the two computed
// ones are the least whole micrometre not below √0.75 × d.
func TestMinimumRows(t *testing.T) {
	used := map[quantity.Length]bool{}
	for _, s := range []rating.System{rating.US, rating.EN} {
		for _, z := range rating.Sizes(s) {
			used[z.Nominal()] = true
			if !slices.ContainsFunc(minimums[:], func(m minimum) bool { return m.nominal == z.Nominal() }) {
				t.Errorf("no row for %s", z.Words())
			}
		}
	}
	for _, m := range minimums {
		if !used[m.nominal] || m.clause == source.None {
			t.Errorf("row %+v", m)
		}
		threeQuarters := 3 * m.nominal * m.nominal
		atLeast := 4*m.least*m.least >= threeQuarters
		if m.clause == source.SectionLoss && (!atLeast || 4*(m.least-1)*(m.least-1) >= threeQuarters) {
			t.Errorf("row %+v is not the least that leaves three quarters", m)
		}
		// B30.9 rounds to a hundredth of a millimetre, and prints up to 0.13 mm more.
		if closest := m.nominal * 8660 / 10_000; m.least < closest-5 || m.least > closest+130 {
			t.Errorf("row %+v is far from %d", m, closest)
		}
	}
}

func TestLength(t *testing.T) {
	for _, c := range []struct {
		new, found quantity.Length
		want       string
	}{
		{330_000, 331_650, ""}, // 0.5 %: the doubt of a tape, common practice
		{330_000, 331_651, "longer note 331651/331650"},
		{330_000, 334_950, "longer note 334950/331650"}, // 1.5 %: site policy
		{330_000, 334_951, "longer hold 334951/334950"},
		{330_000, 339_900, "longer hold 339900/334950"}, // 3 %: an older US government training page
		{330_000, 339_901, "longer out 339901/339900"},
		{330_001, 331_651, ""}, // 331,651.005
		{330_001, 331_652, "longer note 331652/331651"},
		{330_000, 300_000, ""},
		{0, 334_950, ""}, // without a record: 11 × 3 × 10 mm (trade dimension table after EN 818-2)
		{0, 334_951, "longer hold 334951/334950"},
		{0, 1_000_000_000, "longer hold 1000000000/334950"},
		{1, 1, ""},
		{1, 2, "longer out 2/1"},
	} {
		q := sound(t, rating.US, "3/8")
		q.Found.Runs[0].New, q.Found.Runs[0].Length = c.new, c.found
		got := briefs(assess(t, q))
		if c.want == "" && len(got) != 0 || c.want != "" && !slices.Equal(got, []string{c.want}) {
			t.Errorf("%d against %d: %q, want %q", c.found, c.new, got, c.want)
		}
	}
}

func TestLegsDiffer(t *testing.T) {
	run := func(leg int, links int64, length quantity.Length) Run {
		return Run{Leg: leg, Links: links, New: length, Length: length}
	}
	for _, c := range []struct {
		runs []Run
		want []string // with the leg in front
	}{
		{[]Run{run(1, 11, 330_000), run(2, 11, 331_650)}, nil},
		{[]Run{run(1, 11, 330_000), run(2, 11, 331_651)}, []string{"2 legs-differ note 331651/331650"}},
		{[]Run{run(2, 11, 331_651), run(1, 11, 330_000)}, []string{"2 legs-differ note 331651/331650"}},
		{[]Run{run(1, 11, 334_950), run(2, 11, 330_000)}, []string{"1 legs-differ note 334950/331650"}},
		{[]Run{run(1, 11, 334_951), run(2, 11, 330_000)}, []string{"1 legs-differ hold 334951/334950"}},
		// Per link: 15 links of 30,150 µm are within 0.5 % of 11 links of 30,000.
		{[]Run{run(1, 11, 330_000), run(2, 15, 452_250)}, nil},
		{[]Run{run(1, 11, 330_000), run(2, 15, 452_251)}, []string{"2 legs-differ note 452251/452250"}},
		{[]Run{run(1, 11, 330_000), run(1, 11, 400_000)}, nil}, // the same leg
		{[]Run{run(1, 11, 330_000), run(2, 11, 330_000)}, nil},
		{[]Run{run(1, 10, 330_000), run(2, 11, 363_000)}, nil}, // the same per link
		{
			[]Run{run(1, 11, 330_000), run(2, 11, 340_000), run(3, 11, 330_000), run(2, 11, 330_000)},
			[]string{"2 legs-differ hold 340000/334950", "2 legs-differ hold 340000/334950"},
		},
		{
			[]Run{run(1, 1, MaxLength), run(2, MaxCount, 1)},
			[]string{"1 legs-differ hold 1000000000/0"}, // ends of the ranges; the limit rounds down to nothing
		},
	} {
		q := sound(t, rating.US, "3/8")
		q.Sling.Legs, q.Found.Runs = 3, c.runs
		var got []string
		for _, f := range assess(t, q).Findings {
			if f.Code == LegsDiffer {
				got = append(got, fmt.Sprint(f.Leg, " ", brief(f)))
			}
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%v: %q, want %q", c.runs, got, c.want)
		}
	}
}

func TestHooksAndParts(t *testing.T) {
	mdeg := quantity.MilliDegree
	for _, c := range []struct {
		why    string
		change func(*Found)
		want   []string
	}{
		{"B30.10: 1.00 in may open to 1.05", func(f *Found) { f.Hooks[0].ThroatNew, f.Hooks[0].Throat = 25_400, 26_670 }, nil},
		{"B30.10: over 1.05", func(f *Found) { f.Hooks[0].ThroatNew, f.Hooks[0].Throat = 25_400, 26_671 }, []string{"throat-open out 26671/26670"}},
		{"B30.10: 6 in may open to 6.25", func(f *Found) { f.Hooks[0].ThroatNew, f.Hooks[0].Throat = 152_400, 158_750 }, nil},
		{"B30.10: over 6.25", func(f *Found) { f.Hooks[0].ThroatNew, f.Hooks[0].Throat = 152_400, 158_751 }, []string{"throat-open out 158751/158750"}},
		{"5 in, where both rules meet", func(f *Found) { f.Hooks[0].ThroatNew, f.Hooks[0].Throat = 127_000, 133_351 }, []string{"throat-open out 133351/133350"}},
		{"1 µm below 5 in", func(f *Found) { f.Hooks[0].ThroatNew, f.Hooks[0].Throat = 126_999, 133_349 }, []string{"throat-open out 133349/133348"}},
		{"5 % of an odd throat", func(f *Found) { f.Hooks[0].ThroatNew, f.Hooks[0].Throat = 21_233, 22_294 }, nil}, // 22,294.65
		{"over 5 % of it", func(f *Found) { f.Hooks[0].ThroatNew, f.Hooks[0].Throat = 21_233, 22_295 }, []string{"throat-open out 22295/22294"}},
		{"closed", func(f *Found) { f.Hooks[0].Throat = 20_000 }, nil},
		{"no record", func(f *Found) { f.Hooks[0].ThroatNew = 0 }, []string{"throat-unknown hold"}},
		{"1° of twist", func(f *Found) { f.Hooks[0].Twist = 1000 * mdeg }, nil},
		{"over 1°: common practice", func(f *Found) { f.Hooks[0].Twist = 1001 * mdeg }, []string{"hook-twisted note"}},
		{"3°", func(f *Found) { f.Hooks[0].Twist = 3000 * mdeg }, []string{"hook-twisted note"}},
		{"over 3°: common practice", func(f *Found) { f.Hooks[0].Twist = 3001 * mdeg }, []string{"hook-twisted hold"}},
		{"10°", func(f *Found) { f.Hooks[0].Twist = 10_000 * mdeg }, []string{"hook-twisted hold"}},
		{"29 CFR 1910.184: over 10°", func(f *Found) { f.Hooks[0].Twist = 10_001 * mdeg }, []string{"hook-twisted out"}},
		{"B30.10: 10 % of the section", func(f *Found) { f.Hooks[0].Section = 18_000 }, nil},
		{"B30.10: over 10 %", func(f *Found) { f.Hooks[0].Section = 17_999 }, []string{"hook-worn out 17999/18000"}},
		{"10 % of an odd section", func(f *Found) { f.Hooks[0].SectionNew, f.Hooks[0].Section = 20_001, 18_001 }, nil}, // 18,000.9
		{"over it", func(f *Found) { f.Hooks[0].SectionNew, f.Hooks[0].Section = 20_001, 18_000 }, []string{"hook-worn out 18000/18001"}},
		{"no record of the section", func(f *Found) { f.Hooks[0].SectionNew = 0 }, []string{"hook-unknown hold"}},
		{"made without a latch", func(f *Found) { f.Hooks[0].Latch = LatchNone }, nil},
		{"WAC table 12: latch bent", func(f *Found) { f.Hooks[0].Latch = LatchBent }, []string{"latch out"}},
		{"latch missing", func(f *Found) { f.Hooks[0].Latch = LatchMissing }, []string{"latch out"}},
		{"EN 818-6: 10 % of a part", func(f *Found) { f.Parts[0].Thinnest = 14_400 }, nil},
		{"over 10 %", func(f *Found) { f.Parts[0].Thinnest = 14_399 }, []string{"part-worn out 14399/14400"}},
		{"no record of the part", func(f *Found) { f.Parts[0].New = 0 }, []string{"part-unknown hold"}},
		{
			"all of one hook, in order",
			func(f *Found) {
				f.Hooks[0] = Hook{Leg: 1, ThroatNew: 0, Throat: 1, Twist: 2 * quantity.Degree, SectionNew: 10, Section: 1, Latch: LatchBent}
			},
			[]string{"throat-unknown hold", "hook-twisted note", "hook-worn out 1/9", "latch out"},
		},
	} {
		q := sound(t, rating.US, "3/8")
		c.change(&q.Found)
		if got := briefs(assess(t, q)); !slices.Equal(got, c.want) {
			t.Errorf("%s: %q, want %q", c.why, got, c.want)
		}
	}
}
