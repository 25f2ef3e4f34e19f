package card

import (
	"errors"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/removal"
)

// published are the least thicknesses of a link by size, in micrometres, and
// the pitch.
//
// b309 is the B30.9 table of minimum link thickness: 9/32, 3/8, 1/2, 5/8, 7/8, 1
// and 1-1/4 through a maker's chart (seen quoted), 7/32, 5/16 and 3/4 from
// memory, not seen; 6 and 19 mm have no row and are √0.75 × size, rounded up.
// mean is 0.9 × size, EN 818-6 (seen quoted). pitch is 3 × size, a trade
// dimension table after EN 818-2 (seen quoted), 5.5, 6 and 19 mm by its rule.
var published = []struct {
	system            rating.System
	size              string
	b309, mean, pitch quantity.Length
}{
	{rating.US, "7/32", 4_800, 4_950, 16_500},
	{rating.US, "9/32", 6_070, 6_300, 21_000},
	{rating.US, "5/16", 6_930, 7_200, 24_000},
	{rating.US, "3/8", 8_690, 9_000, 30_000},
	{rating.US, "1/2", 11_260, 11_700, 39_000},
	{rating.US, "5/8", 13_870, 14_400, 48_000},
	{rating.US, "3/4", 17_450, 18_000, 60_000},
	{rating.US, "7/8", 19_050, 19_800, 66_000},
	{rating.US, "1", 22_530, 23_400, 78_000},
	{rating.US, "1-1/4", 27_710, 28_800, 96_000},
	{rating.EN, "6", 5_197, 5_400, 18_000},
	{rating.EN, "7", 6_070, 6_300, 21_000},
	{rating.EN, "8", 6_930, 7_200, 24_000},
	{rating.EN, "10", 8_690, 9_000, 30_000},
	{rating.EN, "13", 11_260, 11_700, 39_000},
	{rating.EN, "16", 13_870, 14_400, 48_000},
	{rating.EN, "19", 16_455, 17_100, 57_000},
	{rating.EN, "20", 17_450, 18_000, 60_000},
	{rating.EN, "22", 19_050, 19_800, 66_000},
	{rating.EN, "26", 22_530, 23_400, 78_000},
	{rating.EN, "32", 27_710, 28_800, 96_000},
}

// growth are the steps of a run's growth in thousandths: 0.5 % the doubt of a
// tape, 1.5 % site policy, 3 % an older US government training page (the first
// two have no source).
var growth = []struct {
	perMille quantity.Length
	grade    removal.Grade
}{{1005, removal.Note}, {1015, removal.Hold}, {1030, removal.Out}}

func sizeOf(t *testing.T, s rating.System, printed string) rating.Size {
	t.Helper()
	z, err := rating.ParseSize(s, printed)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// gaugeFor is the card of a size on its usual paper, or where that is too small on
// A3.
func gaugeFor(t *testing.T, s rating.System, printed string) Gauge {
	t.Helper()
	var last error
	for _, name := range []string{"", "a3"} {
		p, err := ParsePaper(name, s)
		if err != nil {
			t.Fatal(err)
		}
		g, err := NewGauge(rating.Grade80, sizeOf(t, s, printed), p)
		if err == nil {
			if _, err = g.Draw(); err == nil {
				return g
			}
		}
		if last = err; !errors.Is(err, ErrNoRoom) {
			break
		}
	}
	t.Fatalf("%s: %v", printed, last)
	return Gauge{}
}

func TestLimitsAgainstThePublishedOnes(t *testing.T) {
	if want := len(rating.Sizes(rating.US)) + len(rating.Sizes(rating.EN)); len(published) != want {
		t.Fatalf("%d sizes of %d are tested", len(published), want)
	}
	for _, c := range published {
		g := gaugeFor(t, c.system, c.size)
		if len(g.Slots) != 2 || g.Slots[0].Least != c.mean || !g.Slots[0].Mean || g.Slots[1].Least != c.b309 || g.Slots[1].Mean {
			t.Errorf("%s: slots %+v, want %s for the mean and %s", c.size, g.Slots, c.mean, c.b309)
		}
		own := map[bool]removal.Grade{true: removal.Out, false: removal.Hold}
		if g.Slots[0].Grade != own[c.system == rating.EN] || g.Slots[1].Grade != own[c.system == rating.US] {
			t.Errorf("%s: slots are %s and %s", c.size, g.Slots[0].Grade, g.Slots[1].Grade)
		}
		if g.Links%2 != 0 || g.Links < 2 || g.Nominal != c.pitch*quantity.Length(g.Links) {
			t.Errorf("%s: %d links are %s", c.size, g.Links, g.Nominal)
		}
		if len(g.Lines) != len(growth) {
			t.Fatalf("%s: lines %+v", c.size, g.Lines)
		}
		for i, step := range growth {
			if l := g.Lines[i]; l.Most != g.Nominal*step.perMille/1000 || l.Grade != step.grade {
				t.Errorf("%s: line %d is %+v, want %d thousandths of %s, %s", c.size, i+1, l, step.perMille, g.Nominal, step.grade)
			}
		}
	}
}

// assess gives the gravest grade that package removal finds for a code; 0 for none.
func assess(t tester, z rating.Size, f removal.Found, codes ...removal.Code) removal.Grade {
	finding, ok, err := found(rating.Grade80, z, f, codes...)
	if err != nil {
		t.Fatal(err)
	}
	if !ok {
		return 0
	}
	return finding.Grade
}

type tester interface{ Fatal(...any) }

// A thickness and a length at the limit pass in package removal, and the next
// micrometre does not.
func TestLimitsAreWhereRemovalHasThem(t *testing.T) {
	for _, c := range published {
		g := gaugeFor(t, c.system, c.size)
		thick := 10 * g.Slots[0].Least
		for _, s := range g.Slots {
			link := func(d quantity.Length) removal.Grade {
				l := removal.Link{Leg: 1, At: 1, D1: d, D2: thick}
				if s.Mean {
					l.D2 = d
				}
				return assess(t, g.Size, removal.Found{Links: []removal.Link{l}}, removal.LinkWorn, removal.LinkThin)
			}
			if at, below := link(s.Least), link(s.Least-1); at == s.Grade || below != s.Grade {
				t.Errorf("%s, %s: %q at the limit and %q below it, want %q", c.size, s.Least, at, below, s.Grade)
			}
		}
		for _, l := range g.Lines {
			run := func(length quantity.Length) removal.Grade {
				return assess(t, g.Size, removal.Found{Runs: []removal.Run{{Leg: 1, Links: g.Links, New: g.Nominal, Length: length}}}, removal.Longer)
			}
			if at, beyond := run(l.Most), run(l.Most+1); at == l.Grade || beyond != l.Grade {
				t.Errorf("%s, %s: %q at the limit and %q beyond it, want %q", c.size, l.Most, at, beyond, l.Grade)
			}
		}
	}
}

// The card is never the weaker one: what package removal finds fault with goes
// into a slot, or beyond the first line, whatever is known of it.
func TestCardIsNeverWeaker(t *testing.T) {
	var gauges []Gauge
	for _, c := range published {
		gauges = append(gauges, gaugeFor(t, c.system, c.size))
	}
	rapid.Check(t, func(t *rapid.T) {
		g := rapid.SampledFrom(gauges).Draw(t, "gauge")
		d := int64(g.Size.Nominal())
		limit := int64(g.Slots[0].Least)
		thickness := rapid.OneOf(rapid.Int64Range(d/2, d*11/10), rapid.Int64Range(limit-2, limit+2))
		l := removal.Link{Leg: 1, At: 1, D1: quantity.Length(thickness.Draw(t, "d1")), D2: quantity.Length(thickness.Draw(t, "d2"))}
		if assess(t, g.Size, removal.Found{Links: []removal.Link{l}}, removal.LinkWorn, removal.LinkThin) != 0 && min(l.D1, l.D2) >= g.Slots[0].Least {
			t.Fatalf("%s × %s is worn and goes into no slot", l.D1, l.D2)
		}
		length := quantity.Length(rapid.Int64Range(int64(g.Nominal), int64(g.Nominal)*11/10).Draw(t, "length"))
		for _, original := range []quantity.Length{0, g.Nominal} {
			r := removal.Run{Leg: 1, Links: g.Links, New: original, Length: length}
			if assess(t, g.Size, removal.Found{Runs: []removal.Run{r}}, removal.Longer) != 0 && length <= g.Lines[0].Most {
				t.Fatalf("%s is too long and lies before line 1", length)
			}
		}
	})
}

func TestNoRoom(t *testing.T) {
	z := sizeOf(t, rating.EN, "32")
	narrow := Paper{"a slip", 227_000, 210 * mm}
	// two links: 192 mm × 1.03 + 16 before, 0.3 for the line and 14 behind
	if _, err := NewGauge(rating.Grade80, z, narrow); !errors.Is(err, ErrNoRoom) || !strings.Contains(err.Error(), "need 228.06 mm along it and a slip is 227 mm wide") {
		t.Errorf("%v", err)
	}
	narrow.Width = 228_060
	g, err := NewGauge(rating.Grade80, z, narrow)
	if err != nil || g.Links != 2 {
		t.Errorf("%v, %d links", err, g.Links)
	}
	g.Paper = Paper{"a4", 297 * mm, 210 * mm}
	if _, err := g.Draw(); !errors.Is(err, ErrNoRoom) || !strings.Contains(err.Error(), "32 mm chain it needs 215.9 mm in height and a4 has 210 mm") {
		t.Errorf("%v", err)
	}
	g.Paper.Height = 215_900
	if _, err := g.Draw(); err != nil {
		t.Error(err)
	}
	if _, err := ParsePaper("b5", rating.EN); !errors.Is(err, ErrNoPaper) {
		t.Errorf("b5: %v", err)
	}
	if _, err := NewGauge(0, z, narrow); err == nil {
		t.Error("a card without a grade")
	}
	if _, err := NewGauge(rating.Grade80, rating.Size{}, narrow); err == nil {
		t.Error("a card without a size")
	}
}

// A print that the bars let pass has no slot off by more than a twentieth of a
// millimetre, and the tolerance is one that can be measured.
func TestTolerance(t *testing.T) {
	for _, c := range published {
		g := gaugeFor(t, c.system, c.size)
		for _, s := range g.Slots {
			if off := s.Least * g.Tolerance / check; off > 50 {
				t.Errorf("%s: %s over 100 mm moves the slot of %s by %s", c.size, g.Tolerance, s.Least, off)
			}
		}
		if g.Tolerance < 100 || g.Tolerance > 300 {
			t.Errorf("%s: tolerance %s", c.size, g.Tolerance)
		}
		if longest := g.Lines[len(g.Lines)-1].Most; longest*g.Tolerance/check >= g.Lines[0].Most-g.Nominal {
			t.Errorf("%s: a print at the edge of the tolerance hides the growth up to line 1", c.size)
		}
	}
}
