package grade

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"cribgate/labeler/symbol"
)

// Both sides of each limit: unused error correction, modulation through a verifier
// manual, non-uniformity from memory (ISO/IEC 15415).
func TestLimits(t *testing.T) {
	for _, c := range []struct {
		parameter  Parameter
		a, b, c, d float64
		up         bool
	}{
		{UnusedCorrection, 0.62, 0.50, 0.37, 0.25, true},
		{Modulation, 0.50, 0.40, 0.30, 0.20, true},
		{AxialNonUniformity, 0.06, 0.08, 0.10, 0.12, false},
		{GridNonUniformity, 0.38, 0.50, 0.63, 0.75, false},
		{FormatBits, 0, 1, 2, 3, false},
	} {
		better := A
		for _, limit := range []float64{c.a, c.b, c.c, c.d} {
			worse := math.Nextafter(limit, limit+1)
			if c.up {
				worse = math.Nextafter(limit, limit-1)
			}
			s := c.parameter.row().scale
			if s.of(limit) != better || s.of(worse) != better-1 {
				t.Errorf("%s: %v is %s and %v is %s, want %s and %s", c.parameter, limit, s.of(limit), worse, s.of(worse), better, better-1)
			}
			if text := strings.TrimSuffix(fmt.Sprintf("%.2f", limit), ".00"); !strings.Contains(c.parameter.Limits(), text) {
				t.Errorf("%s: its words %q lack %s", c.parameter, c.parameter.Limits(), text)
			}
			better--
		}
		if g := c.parameter.row().scale.of(math.NaN()); g != F {
			t.Errorf("%s of no number is %s", c.parameter, g)
		}
	}
}

// 1 − 2t/d (ISO/IEC 15415, from memory): the most wrong codewords that each letter
// forgives, with 22 and with 18 of correction.
func TestUnused(t *testing.T) {
	for _, c := range []struct {
		correction int
		most       [4]int // A, B, C, D
	}{{22, [4]int{4, 5, 6, 8}}, {18, [4]int{3, 4, 5, 6}}} {
		better := A
		for _, most := range c.most {
			s := UnusedCorrection.row().scale
			b := symbol.Block{Data: 11, Correction: c.correction}
			if s.of(unused(most, b)) != better || s.of(unused(most+1, b)) >= better {
				t.Errorf("%d of %d: %s, one more: %s", most, c.correction, s.of(unused(most, b)), s.of(unused(most+1, b)))
			}
			better--
		}
	}
}

func TestSegments(t *testing.T) {
	for _, c := range []struct {
		segment, of int
		letters     string
	}{
		{topLeft, 64, "ABCDFF"}, {bottomLeft, 65, "ABCDFF"}, {alignment, 25, "AFF"},
		{rowTiming, 21, "ABCF"},     // 4.8, 9.5, 14.3 %
		{columnTiming, 100, "AB"},   // the limits themselves are below
		{columnTiming, 50, "ABBBC"}, // 2, 4, 6, 8 %
	} {
		for wrong, letter := range c.letters {
			if g := segmentGrade(c.segment, wrong, c.of); g.String() != string(letter) {
				t.Errorf("%s, %d of %d wrong: %s, want %c", segmentNames[c.segment], wrong, c.of, g, letter)
			}
		}
	}
	for wrong, letter := range map[int]string{7: "B", 8: "C", 11: "C", 12: "D", 14: "D", 15: "F"} {
		if g := segmentGrade(rowTiming, wrong, 100); g.String() != letter {
			t.Errorf("timing, %d %%: %s, want %s", wrong, g, letter)
		}
	}
}

func TestGrades(t *testing.T) {
	for g, want := range map[Grade]string{None: "– -1", F: "F 0", D: "D 1", C: "C 2", B: "B 3", A: "A 4", 77: "– -1"} {
		if got := fmt.Sprint(g, g.Number()); got != want {
			t.Errorf("grade %d is %q, want %q", uint8(g), got, want)
		}
	}
}

// Whatever is said is said once and in whole sentences.
func TestWords(t *testing.T) {
	seen := map[string]bool{}
	once := func(words ...string) {
		t.Helper()
		for _, w := range words {
			if w == "" || seen[w] {
				t.Errorf("%q is empty or said twice", w)
			}
			seen[w] = true
		}
	}
	for _, p := range Parameters() {
		once(p.String(), "key "+p.Key())
		if p.Limits() == "" || !strings.Contains(p.Source(), memory) && !strings.Contains(p.Source(), manual) && !strings.Contains(p.Source(), custom) {
			t.Errorf("%s: limits %q, source %q", p, p.Limits(), p.Source())
		}
	}
	for f := Fault(1); f < lastFault; f++ {
		once("key "+f.Key(), f.Sentence(), f.Next())
	}
	for a := Act(1); a < lastAct; a++ {
		once("key "+a.Key(), Advice{Act: a, Figure: 0.25}.Sentence())
	}
	for _, a := range CannotGive() {
		once(a.Name, a.Why)
	}
	if Parameter(0).Graded() || lastParameter.String() != "" || lastFault.Key() != "none" || lastAct.Key() != "none" || (Advice{}).Sentence() == "" || Fault(0).Next() == "" {
		t.Error("values that are none claim something")
	}
}

// A report confirms only where everything was given, and the lowest decides.
func TestReportConfirms(t *testing.T) {
	whole := func(g Grade) []Line {
		var lines []Line
		for _, p := range Parameters() {
			l := Line{Parameter: p, Grade: A}
			if !p.Graded() {
				l.Grade = None
			}
			if p == Modulation {
				l.Grade = g
			}
			lines = append(lines, l)
		}
		return lines
	}
	for g, confirms := range map[Grade]bool{A: true, B: true, C: true, D: false, F: false} {
		r := Report{Lines: whole(g)}
		if r.Confirms() != confirms || r.Overall() != g || !r.Whole() {
			t.Errorf("lowest %s: confirms %v, overall %s", g, r.Confirms(), r.Overall())
		}
	}
	missing := whole(A)
	for i, l := range missing {
		if !l.Parameter.Graded() {
			continue
		}
		lines := append([]Line(nil), missing...)
		lines[i].Grade, lines[i].Missing = None, "for a reason"
		if r := (Report{Lines: lines}); r.Confirms() || r.Whole() {
			t.Errorf("without %s it confirms", l.Parameter)
		}
		lines = append(append([]Line(nil), missing[:i]...), missing[i+1:]...)
		if r := (Report{Lines: lines}); r.Confirms() || r.Whole() {
			t.Errorf("where %s was left out it confirms", l.Parameter)
		}
	}
	for _, r := range []Report{{}, {Lines: whole(A), Faults: []Fault{Blurred}}, {Faults: []Fault{Glare}}} {
		if r.Confirms() || r.Graded() || r.Overall() != None || r.Sentence() == "" {
			t.Errorf("%d lines and faults %v: confirms %v, overall %s", len(r.Lines), r.Faults, r.Confirms(), r.Overall())
		}
	}
	if _, ok := (Report{}).Line(Decode); ok {
		t.Error("the zero report has a line")
	}
}
