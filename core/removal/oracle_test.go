package removal

import (
	"fmt"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// drawQuestion makes a question whose figures lie often on a limit or one
// micrometre beside it.
func drawQuestion(t *rapid.T) Question {
	system := rapid.SampledFrom([]rating.System{rating.US, rating.EN}).Draw(t, "system")
	z := rapid.SampledFrom(rating.Sizes(system)).Draw(t, "size")
	legs := rapid.IntRange(1, 4).Draw(t, "legs")
	d := z.Nominal()
	beside := func(label string, around ...quantity.Length) quantity.Length {
		l := rapid.SampledFrom(around).Draw(t, label) + quantity.Length(rapid.Int64Range(-2, 2).Draw(t, label+" off"))
		return min(max(l, MinLength), MaxLength)
	}
	known := func(label string, l quantity.Length) quantity.Length {
		if rapid.IntRange(0, 5).Draw(t, label+" known") == 0 {
			return 0
		}
		return l
	}
	leg := func() int { return rapid.IntRange(1, legs).Draw(t, "leg") }
	q := Question{ID: "r", Sling: Sling{Grade: rating.Grade100, Size: z, Legs: legs}}
	f := &q.Found
	for range rapid.IntRange(0, 5).Draw(t, "links") {
		around := []quantity.Length{d, d * 9 / 10, d * 866 / 1000, 1, MaxLength}
		for _, m := range minimums {
			if m.nominal == d {
				around = append(around, m.least)
			}
		}
		f.Links = append(f.Links, Link{leg(), 1, beside("d1", around...), beside("d2", around...)})
	}
	for range rapid.IntRange(0, 5).Draw(t, "runs") {
		links := rapid.SampledFrom([]int64{1, 7, 11, 13, 9_999, MaxCount}).Draw(t, "links of run")
		n := min(MaxLength, quantity.Length(links)*3*d)
		was := beside("new", n, n+7, 1)
		f.Runs = append(f.Runs, Run{leg(), links, known("new", was),
			beside("length", n, was, n*1005/1000, n*1015/1000, n*103/100, was*1005/1000, was*1015/1000, was*103/100, 1, MaxLength)})
	}
	for range rapid.IntRange(0, 4).Draw(t, "hooks") {
		n := beside("throat new", 28_000, 127_000, 220_000, 1)
		s := beside("section new", 20_000, 31_000, 1)
		f.Hooks = append(f.Hooks, Hook{
			Leg: leg(), ThroatNew: known("throat", n), Throat: beside("throat", n, n*105/100, n+6350, MaxLength),
			Twist:      rapid.SampledFrom([]quantity.Angle{0, 2000, 2001, 6000, 6001, 20_000, 20_001, MaxTwist}).Draw(t, "twist"),
			SectionNew: known("section", s), Section: beside("section", s, s*9/10),
			Latch: rapid.SampledFrom([]Latch{LatchGood, LatchGood, LatchNone, LatchBent, LatchMissing}).Draw(t, "latch"),
		})
	}
	for range rapid.IntRange(0, 4).Draw(t, "parts") {
		n := beside("part new", 16_000, 22_001, 1)
		p := Part{What: rapid.SampledFrom([]What{Master, Master, Coupling, Coupler, Pin, Ring, Adjuster}).Draw(t, "what"),
			New: known("part", n), Thinnest: beside("thinnest", n, n*9/10)}
		if p.What != Master && rapid.Bool().Draw(t, "own") {
			p.Leg = leg()
		}
		f.Parts = append(f.Parts, p)
	}
	f.Seen = rapid.SliceOfN(rapid.SampledFrom(SeenCodes()), 0, 3).Draw(t, "seen")
	return q
}

func over(n, d int64) *big.Rat { return big.NewRat(n, d) }

func times(l quantity.Length, r *big.Rat) *big.Rat {
	return new(big.Rat).Mul(new(big.Rat).SetInt64(int64(l)), r)
}

func down(x *big.Rat) int64 { return new(big.Int).Div(x.Num(), x.Denom()).Int64() }

func up(x *big.Rat) int64 { return -down(new(big.Rat).Neg(x)) }

func exceeds(l quantity.Length, limit *big.Rat) bool {
	return new(big.Rat).SetInt64(int64(l)).Cmp(limit) > 0
}

func below(l quantity.Length, limit *big.Rat) bool {
	return new(big.Rat).SetInt64(int64(l)).Cmp(limit) < 0
}

// slow answers the measured part of a question with unbounded fractions.
func slow(q Question) []string {
	var list []string
	say := func(format string, args ...any) { list = append(list, fmt.Sprintf(format, args...)) }
	d := q.Sling.Size.Nominal()
	for _, r := range q.Found.Runs {
		reference, known := r.New, r.New != 0
		if !known {
			reference = quantity.Length(r.Links * 3 * int64(d))
		}
		note, hold, out := times(reference, over(1005, 1000)), times(reference, over(1015, 1000)), times(reference, over(103, 100))
		switch {
		case known && exceeds(r.Length, out):
			say("longer out %d %d/%d", r.Leg, r.Length, down(out))
		case exceeds(r.Length, hold):
			say("longer hold %d %d/%d", r.Leg, r.Length, down(hold))
		case known && exceeds(r.Length, note):
			say("longer note %d %d/%d", r.Leg, r.Length, down(note))
		}
	}
	for i, x := range q.Found.Runs {
		for _, y := range q.Found.Runs[i+1:] {
			a, b := x, y
			perA, perB := times(a.Length, over(1, a.Links)), times(b.Length, over(1, b.Links))
			if perA.Cmp(perB) < 0 {
				a, b, perA, perB = b, a, perB, perA
			}
			hold, note := new(big.Rat).Mul(perB, over(1015, 1000)), new(big.Rat).Mul(perB, over(1005, 1000))
			switch {
			case x.Leg == y.Leg:
			case perA.Cmp(hold) > 0:
				say("legs-differ hold %d %d/%d", a.Leg, a.Length, down(new(big.Rat).Mul(hold, over(a.Links, 1))))
			case perA.Cmp(note) > 0:
				say("legs-differ note %d %d/%d", a.Leg, a.Length, down(new(big.Rat).Mul(note, over(a.Links, 1))))
			}
		}
	}
	for _, h := range q.Found.Hooks {
		rise := times(h.ThroatNew, over(5, 100))
		if most := over(6350, 1); rise.Cmp(most) > 0 {
			rise = most
		}
		if limit := rise.Add(rise, over(int64(h.ThroatNew), 1)); h.ThroatNew != 0 && exceeds(h.Throat, limit) {
			say("throat-open out %d %d/%d", h.Leg, h.Throat, down(limit))
		}
		if limit := times(h.SectionNew, over(9, 10)); h.SectionNew != 0 && below(h.Section, limit) {
			say("hook-worn out %d %d/%d", h.Leg, h.Section, up(limit))
		}
	}
	for _, p := range q.Found.Parts {
		if limit := times(p.New, over(9, 10)); p.New != 0 && below(p.Thinnest, limit) {
			say("part-worn out %d %d/%d", p.Leg, p.Thinnest, up(limit))
		}
	}
	return list
}

// The integer arithmetic agrees with unbounded fractions, on the ends of the ranges too.
func TestAgreesWithRat(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		q := drawQuestion(t)
		a, err := Assess(q)
		if err != nil {
			t.Fatal(err)
		}
		var got []string
		for _, f := range a.Findings {
			if f.HasFigures() && f.Code != LinkWorn && f.Code != LinkThin {
				got = append(got, fmt.Sprintf("%s %s %d %d/%d", f.Code, f.Grade, f.Leg, f.Value, f.Limit))
			}
		}
		if want := slow(q); !slices.Equal(got, want) {
			t.Fatalf("got  %q\nwant %q", got, want)
		}
	})
}
