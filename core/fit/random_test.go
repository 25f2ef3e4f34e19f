package fit

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/lift"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

var (
	rounds = flag.Int("rounds", 100, "random lifts and racks to hold against the gate")
	seed   = flag.Uint64("seed", 0, "seed of the random lifts; 0 takes the clock")
)

const (
	millimetre = quantity.Millimetre
	pound      = quantity.Pound
)

func begin(t testing.TB) maker {
	s := *seed
	if s == 0 {
		s = uint64(time.Now().UnixNano())
	}
	t.Logf("again with: go test ./core/fit -run %s -rounds %d -seed %d", t.Name(), *rounds, s)
	return maker{rand.New(rand.NewPCG(s, 0))}
}

// maker makes racks and lifts, many of them on or beside a limit.
type maker struct{ *rand.Rand }

func pick[T any](m maker, of ...T) T { return of[m.IntN(len(of))] }

func (m maker) odds(n int) bool { return m.IntN(n) == 0 }

var today = day(2026, 3, 2)

func day(y, mo, d int) quantity.Date {
	date, ok := quantity.NewDate(y, mo, d)
	if !ok {
		panic("no such day")
	}
	return date
}

func size(s rating.System, printed string) rating.Size { return mustSize(s, printed) }

// tabled is a sling as new, stamped by the tables for all its legs.
func tabled(ident string, s rating.System, g rating.Grade, printed string, legs int, reach quantity.Length) Sling {
	p := rating.Plate{System: s, Grade: g, Size: size(s, printed), Legs: legs, Reach: reach}
	for _, b := range rating.Bases(s, legs) {
		if cell, ok := rating.TableCell(g, p.Size, legs, b); ok {
			p.Stamped = append(p.Stamped, rating.Stamp{Legs: legs, Basis: b, Load: cell.Load})
		}
	}
	return Sling{Ident: ident, Against: Known(), Sling: gate.Sling{Plate: p, RatingTag: gate.TagLegible, State: gate.StateIn,
		Inspected: today.AddDays(-30), Due: today.AddDays(300)}}
}

func (m maker) rack(n int) []Sling {
	list := make([]Sling, 0, n)
	for i := range n {
		system := pick(m, rating.US, rating.EN)
		sizes := rating.Sizes(system)
		reach := quantity.Length(500+250*m.IntN(16)) * millimetre
		s := tabled(fmt.Sprintf("S-%05d", i), system, pick(m, rating.Grade80, rating.Grade100, rating.Grade80, rating.Grade120),
			sizes[m.IntN(len(sizes)-2)].String(), pick(m, 1, 1, 2, 2, 3, 4), reach)
		s.Adjustable = m.odds(3)
		s.Issues = m.IntN(4)
		s.Due = today.AddDays(pick(m, 300, 300, 300, 120, 5, 0, -1))
		s.State = pick(m, gate.StateIn, gate.StateIn, gate.StateIn, gate.StateIn, gate.StateIn, gate.StateOut, gate.StateUnchecked, gate.StateHeld, gate.StateRetired, gate.StateLost)
		s.Fittings = event.Fittings{Inside: quantity.Length(m.IntN(3)) * 60 * millimetre, Lower: pick(m, event.LatchHook, event.LatchHook, event.Shackle, "")}
		switch m.IntN(24) {
		case 0:
			s.Inspected, s.Due = quantity.Date{}, quantity.Date{}
		case 1:
			s.RatingTag = pick(m, gate.TagPartial, gate.TagMissing, 0)
		case 2:
			s.Stamped = nil
		case 3:
			s.Reach = 0
		case 4:
			hot := quantity.Fahrenheit(int64(300 + 100*m.IntN(9)))
			s.Hottest = &hot
		case 5:
			s.Master = 2000 * quantity.Kilogram
		case 6:
			s.Weakest = 1000 * quantity.Kilogram
		case 7:
			s.Stamped = append(s.Stamped[:0:0], s.Stamped...)
			for j := range s.Stamped {
				s.Stamped[j].Load = s.Stamped[j].Load.Floor(10*quantity.Gram) / 10 * 9
				s.Stamped[j].Load = s.Stamped[j].Load.Floor(quantity.Gram)
			}
		case 8:
			s.Against = pick(m, Known(gate.RecordForked), Known(gate.NotCompared, gate.DefectOpen), Against{}, Known().After(today.AddDays(4), gate.DefectBeforeReturn).After(today.AddDays(9), gate.DefectOpen))
		case 9:
			s.Legs = 7 // no such sling
		}
		list = append(list, s)
	}
	return list
}

func (m maker) ask() Ask {
	a := Ask{Now: today, Policy: gate.DefaultPolicy()}
	if m.odds(4) {
		a.Policy.Choke, a.Policy.MaxMonths, a.Policy.Angles = gate.ChokeStrict, 6, gate.AnglesComputed
	}
	l := &a.Lift
	l.Use = gate.UseOrdinary
	if m.odds(30) {
		l.Use = gate.UsePeople
	}
	l.Load = quantity.Mass(pick(m, 100, 500, 1500, 3000, 4000, 6000, 10_000)+m.IntN(300)) * pick(m, quantity.Kilogram, pound)
	l.Margin = pick(m, 0, 0, 10)
	l.Hitch = pick(m, gate.Straight, gate.Straight, gate.Straight, gate.Choked, gate.Basket)
	l.Legs = 1 + m.IntN(4)
	l.Centred = !m.odds(5)
	if m.odds(4) {
		l.ReturnBy = today.AddDays(m.IntN(10))
	}
	if l.Hitch != gate.Straight || m.odds(6) {
		edge := quantity.Length(pick(m, 5, 15, 40, 100)) * millimetre
		l.Edge = &edge
	}
	if l.Hitch == gate.Choked {
		choke := quantity.Angle(pick(m, 130, 120, 100, 20)) * quantity.Degree
		l.Choke = &choke
	}
	if m.odds(6) {
		l.Shortened = pick(m, gate.Cradled, gate.Plain)
	}
	if m.odds(8) {
		heat := quantity.Celsius(int64(pick(m, -41, 150, 210, 350, 600)))
		l.Heat = &heat
	}
	if m.odds(5) {
		l.Lower = pick(m, event.LatchHook, event.Shackle)
	}
	if m.odds(5) {
		l.Crane = event.Crane{Name: "north", Hook: quantity.Length(m.IntN(3)) * 50 * millimetre}
	}
	switch m.IntN(4) {
	case 0:
		l.Singles = l.Hitch != gate.Basket
	case 1:
		l.Slings = 1 + m.IntN(3)
	}
	m.shape(l)
	return a
}

// shape gives the lift its angle, its span or its picks.
func (m maker) shape(l *Lift) {
	switch {
	case l.Hitch == gate.Straight && l.Legs > 1 && m.odds(2):
		half := 300 + m.IntN(1500)
		p := func(x, y int) lift.Point {
			return lift.Point{X: quantity.Length(x) * millimetre, Y: quantity.Length(y) * millimetre}
		}
		l.Picks = []lift.Point{p(-half, 0), p(half, 0), p(0, half), p(0, -half)}[:l.Legs]
		if l.Legs == 3 {
			l.Picks = []lift.Point{p(-half, -half/2), p(half, -half/2), p(0, half)}
		}
		cg := lift.Point{X: quantity.Length(pick(m, 0, 0, 50, 300)) * millimetre, Z: -quantity.Length(pick(m, 200, 600, 0)) * millimetre}
		l.CG = &cg
		if !m.odds(3) {
			hook := quantity.Length(m.IntN(3500)) * millimetre
			l.Hook = &hook
		}
		if m.odds(2) {
			top := quantity.Length(500+m.IntN(4000)) * millimetre
			l.HookMax = &top
		}
	case l.Hitch != gate.Basket && l.Legs > 1 && m.odds(2):
		l.Span = quantity.Length(500+250*m.IntN(16)) * millimetre // often a reach, or twice one
		if m.odds(2) {
			l.Headroom = quantity.Length(300+m.IntN(4000)) * millimetre
		}
	case l.Hitch == gate.Basket || l.Legs > 1:
		l.Angle = &gate.Angle{From: pick(m, gate.FromHorizontal, gate.FromVertical), Size: quantity.Angle(pick(m, 30_000, 45_000, 60_000, 29_999, 50_000)) * quantity.MilliDegree}
	}
}
