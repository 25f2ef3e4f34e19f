package grade_test

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"cribgate/kiosk/scan"
	"cribgate/labeler/grade"
	"cribgate/labeler/symbol"
)

// reported grades a picture, unless it does not read.
func reported(picture []byte, want symbol.Symbol) (grade.Report, bool) {
	v, err := scan.Locate(picture)
	if err != nil {
		return grade.Report{}, false
	}
	return grade.Print(v, want), true
}

// A stretch of p % along x makes |X − Y| over the mean of both p/(100 + p/2); both
// sides of each limit (ISO/IEC 15415, from memory, not seen).
func TestAxialNonUniformity(t *testing.T) {
	want := encode(t, bare)
	for stretch, letter := range map[float64]string{0: "A", 0.05: "A", 0.07: "B", 0.09: "C", 0.11: "D", 0.13: "F", -0.05: "A", -0.07: "B"} {
		for _, turn := range []float64{0, 30, 90} {
			r := camera{stretch: stretch, turn: turn}.judge(t, sceneOf(want), want)
			l := line(t, r, grade.AxialNonUniformity)
			if off := math.Abs(stretch) / (1 + stretch/2); math.Abs(l.Value-off) > 0.002 || l.Grade.String() != letter {
				t.Errorf("stretched by %v, turned by %v: %s %.4f, want %s %.4f", stretch, turn, l.Grade, l.Value, letter, off)
			}
			if advised(r, grade.Proportion) != (l.Grade <= grade.B) {
				t.Errorf("stretched by %v: advice %v", stretch, r.Advice)
			}
		}
	}
}

// Rows that wander to and fro are seen about as far as they wander: the window of
// seven modules evens out a part of a wave of 18.5, and the fit turns the symbol a
// little.
func TestGridNonUniformity(t *testing.T) {
	want := encode(t, bare)
	for _, wave := range []float64{0, 0.1, 0.2, 0.3} {
		s := sceneOf(want)
		s.wave = wave
		r := camera{pixels: 12}.judge(t, s, want)
		l := line(t, r, grade.GridNonUniformity)
		if l.Value < 0.7*wave || l.Value > 1.05*wave+0.02 || l.Grade != grade.A {
			t.Errorf("rows wander by %v: %s %.3f", wave, l.Grade, l.Value)
		}
	}
}

func TestGrowth(t *testing.T) {
	want := encode(t, bare)
	// At 16 pixels a module these are whole pixels to every side.
	for _, c := range []struct {
		grown float64
		act   grade.Act
	}{{-0.125, grade.MoreHeat}, {-0.0625, 0}, {0, 0}, {0.0625, 0}, {0.125, grade.LessHeat}} {
		s := sceneOf(want)
		s.grown = c.grown
		r := camera{pixels: 16}.judge(t, s, want)
		l := line(t, r, grade.Growth)
		if math.Abs(l.Value-2*c.grown) > 0.01 || l.Grade != grade.None {
			t.Errorf("grown by %v to every side: %.3f, grade %s", c.grown, l.Value, l.Grade)
		}
		for _, act := range []grade.Act{grade.MoreHeat, grade.LessHeat} {
			if advised(r, act) != (act == c.act) {
				t.Errorf("grown by %v: advice %v", c.grown, r.Advice)
			}
		}
	}
}

// Contrast is told and not graded: pale dark is advised on and never refused by it.
func TestContrastIsInformation(t *testing.T) {
	want := encode(t, bare)
	for _, c := range []struct {
		dark, bright float64
		pale         bool
	}{{0.02, 0.9, false}, {0.36, 0.9, false}, {0.45, 0.9, true}, {0.1, 0.3, false}} {
		r := camera{dark: c.dark, bright: c.bright}.judge(t, sceneOf(want), want)
		l := line(t, r, grade.Contrast)
		if v := 1 - c.dark/c.bright; math.Abs(l.Value-v) > 0.03 || l.Grade != grade.None {
			t.Errorf("dark %v, light %v: contrast %.3f, want %.3f, grade %s", c.dark, c.bright, l.Value, v, l.Grade)
		}
		if advised(r, grade.Darker) != c.pale || r.Overall() != grade.A {
			t.Errorf("dark %v, light %v: overall %s, advice %v", c.dark, c.bright, r.Overall(), r.Advice)
		}
	}
}

func advised(r grade.Report, act grade.Act) bool {
	return slices.ContainsFunc(r.Advice, func(a grade.Advice) bool { return a.Act == act })
}

// What is wrong with a picture is said of the picture, never of the print, on both
// sides of each bound; none of them confirms.
func TestFaultsOfThePicture(t *testing.T) {
	want := encode(t, bare)
	patch := func(from, to float64) func(x, y float64) bool {
		return func(x, y float64) bool { return x > from && x < to && y > from && y < to }
	}
	for _, c := range []struct {
		name string
		c    camera
		want []grade.Fault
	}{
		{"four pixels", camera{pixels: 4}, nil},
		{"less", camera{pixels: 3.8}, []grade.Fault{grade.TooSmall}},
		{"three pixels", camera{pixels: 3}, []grade.Fault{grade.TooSmall}},
		{"a little blurred", camera{blur: 0.2}, nil},
		{"blurred", camera{blur: 0.26}, []grade.Fault{grade.Blurred}},
		{"much blurred", camera{blur: 0.3}, []grade.Fault{grade.Blurred}},
		{"askew", camera{keystone: 0.17}, []grade.Fault{grade.Askew}},
		{"mild shade", camera{shade: 0.4}, nil},
		{"in shadow", camera{shade: 0.6}, []grade.Fault{grade.UnevenLight}},
		{"dazzled", camera{bright: 0.6, glare: patch(14, 20)}, []grade.Fault{grade.Glare}},
		{"cut at the margin", camera{cut: 3}, []grade.Fault{grade.CutOff}},
		{"cut outside", camera{cut: 1}, nil},
		{"pale", camera{dark: 0.4, bright: 0.6}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := c.c.judge(t, sceneOf(want), want)
			if !slices.Equal(r.Faults, c.want) {
				say(t, r)
				t.Fatalf("faults %v, want %v", r.Faults, c.want)
			}
			if ok := c.want == nil; r.Graded() != ok || r.Confirms() != ok || (len(r.Lines) > 0) != ok || (r.Overall() == grade.None) == ok {
				t.Errorf("graded %v, confirms %v, %d lines, overall %s", r.Graded(), r.Confirms(), len(r.Lines), r.Overall())
			}
		})
	}
}

// A reader that sees further than ours may hand over a picture in which light and
// dark are nearly one: it is graded down to a tenth of the light.
func TestFaint(t *testing.T) {
	want := encode(t, bare)
	s := sceneOf(want)
	for difference, faint := range map[float64]bool{0.2: false, 0.11: false, 0.09: true, 0: true} {
		r := grade.Print(liar{want.Text(), func(x, y float64) float64 { return 0.5 * (1 - difference*(1-s.at(x/8, y/8))) }, 8}, want)
		if slices.Contains(r.Faults, grade.Faint) != faint || r.Confirms() == faint {
			t.Errorf("dark is %v less than light: faults %v", difference, r.Faults)
		}
	}
}

// A print with a bleached patch is damaged, not dazzled: its light is that of the
// blank.
func TestBleachedIsNotDazzled(t *testing.T) {
	want := encode(t, bare)
	s := sceneOf(want)
	for row := 15; row < 19; row++ {
		for column := 15; column < 19; column++ {
			s.set(column, row, 1)
		}
	}
	for _, bright := range []float64{0.6, 1} {
		r := camera{bright: bright}.judge(t, s, want)
		if len(r.Faults) > 0 {
			t.Errorf("light %v: faults %v", bright, r.Faults)
		}
		if l := line(t, r, grade.UnusedCorrection); l.Value >= 1 {
			t.Errorf("light %v: %.2f left", bright, l.Value)
		}
	}
}

// Lengths are compared only where the camera stood straight, and then the print is
// not confirmed, however good the rest is.
func TestTilted(t *testing.T) {
	want := encode(t, bare)
	for keystone, straight := range map[float64]bool{0: true, 0.035: true, 0.045: false, 0.13: false} {
		r := camera{keystone: keystone, pixels: 10}.judge(t, sceneOf(want), want)
		for _, p := range []grade.Parameter{grade.AxialNonUniformity, grade.GridNonUniformity} {
			if l := line(t, r, p); (l.Missing == "") != straight || (l.Grade == grade.None) == straight || math.IsNaN(l.Value) == straight {
				t.Errorf("sides differ by %v: %s is %s, missing %q", keystone, p, l.Grade, l.Missing)
			}
		}
		if r.Overall() != grade.A || r.Confirms() != straight || r.Whole() != straight || advised(r, grade.SquareOn) == straight {
			t.Errorf("sides differ by %v: overall %s, confirms %v, advice %v", keystone, r.Overall(), r.Confirms(), r.Advice)
		}
	}
}

// Turned, mirrored, light on dark, with noise, at any gain and gamma of the camera:
// a good print stays an A, and a damaged one keeps its figure.
func TestTheWayItLiesDoesNotMatter(t *testing.T) {
	want := encode(t, prefixed)
	good, bad := sceneOf(want), sceneOf(want)
	spoil(bad, chance(t), want.Level(), 3, 4) // B: 1 − 8/18 = 0.56
	cameras := []camera{{mirror: true}, {invert: true}, {noise: 6, seed: 1}, {noise: 12, seed: 2},
		{dark: 0.1, bright: 0.5}, {gamma: 0.6}, {gamma: 1.7}, {mirror: true, invert: true, turn: 200}, {keystone: 0.03, turn: 75}}
	for turn := 0.; turn < 360; turn += 36 / float64(*rounds) {
		cameras = append(cameras, camera{turn: turn, pixels: 6})
	}
	for _, c := range cameras {
		for _, x := range []struct {
			s    *scene
			want grade.Grade
		}{{good, grade.A}, {bad, grade.B}} {
			r := c.judge(t, x.s, want)
			if r.Overall() != x.want || !r.Confirms() {
				say(t, r)
				t.Errorf("%+v: overall %s, want %s", c, r.Overall(), x.want)
			}
		}
	}
}

// A quarter turn changes no figure.
func TestQuarterTurns(t *testing.T) {
	random := chance(t)
	for range 2 * *rounds {
		want := encode(t, bare)
		s := sceneOf(want)
		spoil(s, random, want.Level(), random.IntN(symbol.Blocks), random.IntN(7))
		first := camera{}.judge(t, s, want)
		for _, turn := range []float64{90, 180, 270} {
			r := camera{turn: turn}.judge(t, s, want)
			for i, l := range r.Lines {
				if o := first.Lines[i]; l.Grade != o.Grade || math.Abs(l.Value-o.Value) > 0.01 {
					t.Errorf("turned by %v: %s is %s %.3f, was %s %.3f", turn, l.Parameter, l.Grade, l.Value, o.Grade, o.Value)
				}
			}
		}
	}
}

// Another tag, and the tag's text in a symbol of another drawing, are told apart
// from a bad print.
func TestAnotherTag(t *testing.T) {
	want, other := encode(t, bare), encode(t, prefixed)
	r := camera{}.judge(t, sceneOf(other), want)
	if !slices.Equal(r.Faults, []grade.Fault{grade.AnotherTag}) || r.Confirms() {
		t.Errorf("another tag: faults %v", r.Faults)
	}
	for _, mask := range []int{(want.Mask() + 1) % 8, (want.Mask() + 5) % 8} {
		r = camera{}.judge(t, redrawn(want, mask), want)
		if !slices.Equal(r.Faults, []grade.Fault{grade.AnotherDrawing}) || r.Confirms() {
			t.Errorf("drawn with mask %d, not %d: faults %v", mask, want.Mask(), r.Faults)
		}
	}
	if r := grade.Print(nothing{}, symbol.Symbol{}); !slices.Equal(r.Faults, []grade.Fault{grade.AnotherTag}) || r.Confirms() {
		t.Errorf("nothing at all: faults %v", r.Faults)
	}
}

// redrawn is a symbol with another data mask, format bits included.
func redrawn(s symbol.Symbol, mask int) *scene {
	out := sceneOf(s)
	word := func(mask int) int { // level H is 10 (ISO/IEC 18004, BCH 15,5, generator 537, mask 5412)
		data := 0b10<<3 | mask
		rest := data
		for range 10 {
			rest = rest<<1 ^ rest>>9*0x537
		}
		return (data<<10 | rest) ^ 0x5412
	}
	differ := word(mask) ^ word(s.Mask())
	for row := range symbol.Modules {
		for column := range symbol.Modules {
			switch part := symbol.PartOf(column, row); part {
			case symbol.Data, symbol.Remainder:
				if symbol.Masked(mask, column, row) != symbol.Masked(s.Mask(), column, row) {
					out.flip(column, row)
				}
			}
		}
	}
	for i := range 15 {
		if differ>>i&1 == 0 {
			continue
		}
		switch { // the copy around the top left finder
		case i < 6:
			out.flip(8, i)
		case i < 8:
			out.flip(8, i+1)
		case i == 8:
			out.flip(7, 8)
		default:
			out.flip(14-i, 8)
		}
		if i < 8 {
			out.flip(symbol.Modules-1-i, 8)
		} else {
			out.flip(8, symbol.Modules-15+i)
		}
	}
	return out
}

// nothing is a view of no symbol.
type nothing struct{}

func (nothing) Text() string                           { return "" }
func (nothing) Modules() int                           { return 0 }
func (nothing) Inverted() bool                         { return false }
func (nothing) At(float64, float64) (float64, float64) { return 0, 0 }
func (nothing) Light(float64, float64) float64         { return math.NaN() }

// A view that lies gives a report that confirms nothing, and no panic.
func TestViewsThatLie(t *testing.T) {
	want := encode(t, bare)
	for name, v := range map[string]grade.View{
		"all dark":           liar{want.Text(), func(x, y float64) float64 { return 0 }, 8},
		"all light":          liar{want.Text(), func(x, y float64) float64 { return 1 }, 8},
		"infinite":           liar{want.Text(), func(x, y float64) float64 { return math.Inf(1) }, 8},
		"no place":           liar{want.Text(), func(x, y float64) float64 { return 0.5 }, math.NaN()},
		"no size":            liar{want.Text(), func(x, y float64) float64 { return 0.5 }, 0},
		"stripes":            liar{want.Text(), func(x, y float64) float64 { return math.Mod(math.Floor(x/8), 2) }, 8},
		"outside a picture":  liar{want.Text(), func(x, y float64) float64 { return math.NaN() }, 8},
		"negative and large": liar{want.Text(), func(x, y float64) float64 { return x - y }, 8},
	} {
		if r := grade.Print(v, want); r.Confirms() || r.Overall() > grade.F {
			t.Errorf("%s: overall %s, confirms %v", name, r.Overall(), r.Confirms())
		}
	}
}

type liar struct {
	text  string
	light func(x, y float64) float64
	scale float64
}

func (l liar) Text() string                       { return l.text }
func (l liar) Modules() int                       { return symbol.Modules }
func (l liar) Inverted() bool                     { return false }
func (l liar) At(x, y float64) (float64, float64) { return x * l.scale, y * l.scale }
func (l liar) Light(x, y float64) float64         { return l.light(x, y) }

func BenchmarkPrint(b *testing.B) {
	want := encode(b, bare)
	picture := camera{pixels: 20, turn: 3}.shoot(b, sceneOf(want)) // a million pixels
	v, err := scan.Locate(picture)
	if err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if r := grade.Print(v, want); !r.Confirms() {
			b.Fatal(fmt.Sprint(r.Faults))
		}
	}
}

// BenchmarkCheck is all of it: decode, find, fit and grade.
func BenchmarkCheck(b *testing.B) {
	want := encode(b, bare)
	picture := camera{pixels: 20, turn: 3}.shoot(b, sceneOf(want))
	for b.Loop() {
		if r, ok := reported(picture, want); !ok || !r.Confirms() {
			b.Fatal(fmt.Sprint(r.Faults))
		}
	}
}
