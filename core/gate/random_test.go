package gate

import (
	"encoding/json"
	"flag"
	"math"
	"math/big"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"cribgate/core/rating"
)

var (
	rounds = flag.Int("rounds", 20_000, "random questions to compare with the second implementation")
	seed   = flag.Uint64("seed", 0, "seed of the random questions; 0 takes the clock")
)

// maker makes questions, most of them on or beside a limit.
type maker struct{ *rand.Rand }

func pick[T any](m maker, of ...T) T { return of[m.IntN(len(of))] }

// some gives a pointer to one of the values, or nil at the odds of one in n.
func some[T any](m maker, n int, of ...T) *T {
	if m.IntN(n) == 0 {
		return nil
	}
	v := pick(m, of...)
	return &v
}

func (m maker) day(from string, days ...int) string {
	d, _ := time.Parse("2006-01-02", from)
	return d.AddDate(0, 0, pick(m, days...)).Format("2006-01-02")
}

// mass gives a mass near grams, in grams or pounds, as it is read.
func (m maker) mass(grams *big.Rat) (g, lb *int64) {
	unit, at := rat(1, 1), &g
	if m.IntN(2) == 0 {
		unit, at = poundInGrams, &lb
	}
	q := new(big.Rat).Quo(grams, unit)
	n := new(big.Int).Div(q.Num(), q.Denom()).Int64() + pick(m, int64(-1), 0, 0, 1, 1, 2)
	n = min(max(n, 1), 2_000_000_000)
	*at = &n
	return g, lb
}

func (m maker) around(at ...int64) int64 { return pick(m, at...) + pick(m, int64(-1), 0, 0, 1) }

func (m maker) question() *oracleQuestion {
	q := &oracleQuestion{ID: "r", Now: m.day("2024-02-29", 0, 1, 366, 365, 1000)}
	if m.IntN(3) > 0 {
		q.Policy = &oraclePolicy{Angles: some(m, 2, "bands", "computed"), Choke: some(m, 2, "listed", "strict"), Months: some(m, 2, int64(1), 3, 6, 11, 12),
			Tilt: some(m, 2, int64(0), 100, 5000, 45_000)}
	}
	q.Sling = m.sling(q.Now)
	if m.IntN(5) > 0 {
		q.Lift = m.lift(q)
	}
	return q
}

func (m maker) sling(now string) oracleSling {
	s := oracleSling{System: pick(m, "us", "en"), Grade: pick(m, 80, 100, 120, 80, 100), Legs: 1 + m.IntN(4), Adjustable: m.IntN(2) == 0,
		RatingTag: pick(m, "legible", "legible", "legible", "legible", "partial", "illegible", "missing"),
		State:     pick(m, "in", "in", "in", "in", "in", "out", "unchecked", "held", "retired", "lost")}
	system, _ := rating.ParseSystem(s.System)
	s.Size = pick(m, rating.Sizes(system)...).String()
	single := printedCell(&s, 1, "vertical")
	if single == nil || m.IntN(8) == 0 {
		chart := rat(int64(1_000_000+m.IntN(60_000_000)), 1)
		if m.IntN(5) > 0 {
			s.ChartG, s.ChartLb = m.mass(chart)
		}
		if single == nil {
			single = chart
		}
	}
	for range pick(m, 0, 1, 1, 1, 1, 1, 2, 2, 3) {
		s.Stamped = append(s.Stamped, m.stamp(&s, system, single))
	}
	if s.Stamped == nil {
		s.Stamped = []oracleStamp{}
	}
	if m.IntN(4) == 0 {
		s.WeakestG, s.WeakestLb = m.mass(times(single, pick(m, rat(1, 1), rat(95, 100), rat(7, 10), rat(2, 1))))
	}
	if m.IntN(4) == 0 {
		s.MasterG, s.MasterLb = m.mass(times(single, pick(m, rat(1, 1), rat(14, 10), rat(17320, 10000), rat(21, 10), rat(2598, 1000), rat(1, 2))))
	}
	if m.IntN(3) == 0 {
		if m.IntN(2) == 0 {
			t := m.around(0, 200, 204, 260, 300, 315, 371, 400, 426, 482, 537, -40)
			s.HottestC = &t
		} else {
			t := m.around(399, 400, 500, 600, 700, 752, 800, 900, 1000)
			s.HottestF = &t
		}
	}
	if m.IntN(12) > 0 {
		d := m.day(now, 0, 1, -1, -30, -31, -89, -92, -180, -181, -183, -184, -364, -365, -366, -367)
		s.Inspected = &d
	}
	if m.IntN(12) > 0 {
		d := m.day(now, 0, 1, -1, 2, 10, 365, 400)
		s.Due = &d
	}
	return s
}

func (m maker) stamp(s *oracleSling, system rating.System, single *big.Rat) oracleStamp {
	x := oracleStamp{Legs: s.Legs}
	if m.IntN(3) == 0 {
		x.Legs = 1 + m.IntN(s.Legs)
	}
	x.Basis = pick(m, rating.Bases(system, x.Legs)...).String()
	if m.IntN(60) == 0 { // contradicts, mostly
		x.Legs, x.Basis = 1+m.IntN(4), pick(m, "vertical", "h60", "b45")
	}
	cell := printedCell(s, x.Legs, x.Basis)
	if cell == nil {
		f := oracleFactors[x.Basis][classOf(x.Legs)]
		if f == nil {
			f = rat(1, 1)
		}
		cell = times(single, f)
	}
	share := pick(m, rat(1, 1), rat(1, 1), rat(1, 1), rat(1, 1), rat(95, 100), rat(1025, 1000), rat(96, 100), rat(90, 100), rat(1000, 1070))
	x.LoadG, x.LoadLb = m.mass(times(cell, share))
	return x
}

func (m maker) lift(q *oracleQuestion) *oracleLift {
	s := &q.Sling
	one := int64(1)
	l := &oracleLift{LoadG: &one, Use: some(m, 3, "ordinary", "ordinary", "ordinary", "ordinary", "people", "molten", "chemical", "other"),
		Margin: some(m, 2, int64(0), 10, 25, 33, 1000), Hitch: some(m, 3, "straight", "straight", "choke", "basket"),
		Legs: s.Legs, Centred: some(m, 3, true, true, false)}
	if m.IntN(4) == 0 {
		l.Legs = 1 + m.IntN(4)
	}
	if s.Legs == 1 && m.IntN(3) == 0 {
		l.Singles, l.Legs = true, 1+m.IntN(4)
	}
	if s.Adjustable && m.IntN(3) == 0 || m.IntN(60) == 0 {
		l.Shortened = some(m, 5, "plain", "cradled")
	}
	basket := l.Hitch != nil && *l.Hitch == "basket"
	if l.Legs > 1 && m.IntN(12) > 0 || basket && m.IntN(12) > 0 || m.IntN(60) == 0 {
		l.Angle = &oracleAngle{pick(m, "horizontal", "vertical"), m.around(30_000, 45_000, 60_000, 90_000, 40_000, 29_999, 0, 75_000)}
		if l.Legs == 2 && !basket && m.IntN(2) == 0 || l.Legs == 1 && basket && m.IntN(2) == 0 || m.IntN(60) == 0 {
			l.Angle = &oracleAngle{"between", m.around(60_000, 90_000, 120_000, 0, 180_000, 30_000)}
		}
		l.Angle.Mdeg = min(max(l.Angle.Mdeg, 0), 180_000)
	}
	if m.IntN(2) == 0 {
		if t := m.around(20, 200, 204, 205, 260, 300, 315, 400, 426, 482, 537, 538, -28, -29, -40); m.IntN(2) == 0 {
			l.TempC = &t
		} else {
			f := m.around(68, 400, 500, 600, 700, 752, 800, 900, 1000, -20, -40)
			l.TempF = &f
		}
	}
	if m.IntN(3) > 0 {
		l.Edge = some(m, 8, 0, m.around(5, 6, 7, 8, 9), m.around(10, 11, 12, 13, 14, 16), m.around(20, 21, 24, 26, 28, 32), m.around(40, 52, 64), m.around(48, 80, 96), 500)
		if l.Edge != nil {
			*l.Edge = max(*l.Edge, 0)
		}
	}
	if l.Hitch != nil && *l.Hitch == "choke" && m.IntN(10) > 0 || m.IntN(8) == 0 {
		c := m.around(30_000, 60_000, 90_000, 120_000, 150_000)
		l.Choke = &c
	}
	if m.IntN(3) == 0 {
		d := m.day(q.Now, 0, 1, 2, 3, 9, 10, 11)
		if m.IntN(30) == 0 {
			d = m.day(q.Now, -1)
		}
		l.ReturnBy = &d
	}
	if l.Legs > 1 && m.IntN(3) == 0 || m.IntN(60) == 0 {
		m.picks(q, l)
	}
	return l
}

// picks draws geometry in place of an angle, some of it contradicting.
func (m maker) picks(q *oracleQuestion, l *oracleLift) {
	s := &q.Sling
	reach := int64(m.IntN(3000) + 500)
	s.Reach = &reach
	if m.IntN(40) > 0 {
		l.Angle = nil
	}
	if m.IntN(20) > 0 {
		l.Hitch = some(m, 2, "straight")
	}
	radius := float64(reach) * pick(m, 0.3, 0.5, 0.6, 0.70710678, 0.8, 0.85, 0.95)
	n := l.Legs
	if m.IntN(40) == 0 {
		n = 1 + m.IntN(5)
	}
	loose := pick(m, 0, 0, 0.05, 0.3, 1)
	for i := range n {
		turn := 2*math.Pi*float64(i)/float64(n) + loose*(m.Float64()-0.5)
		l.Picks = append(l.Picks, oraclePoint{int64(radius * math.Cos(turn)), int64(radius * math.Sin(turn)), pick(m, int64(0), 0, 0, 5, 40)})
	}
	if m.IntN(40) > 0 {
		off := int(radius*pick(m, 0, 0, 0.05, 0.3, 1.2)) + 1
		l.CG = &oraclePoint{int64(m.IntN(off)), int64(m.IntN(off)), 50 - int64(m.IntN(700))}
	}
	if s.Adjustable && m.IntN(10) > 0 || m.IntN(10) == 0 {
		rise := math.Sqrt(max(0, float64(reach*reach)-radius*radius))
		hook := m.around(int64(rise), int64(rise*0.98), int64(rise*0.9), int64(rise*0.6))
		l.Hook = &hook
	}
	if m.IntN(2) == 0 {
		top := m.around(reach, reach*9/10, reach/2)
		if l.Hook != nil && s.Adjustable {
			top = m.around(*l.Hook)
		}
		l.HookMax = &top
	}
}

// atLimit sets the load to one at which the answer may turn, or beside it.
func (m maker) atLimit(q *oracleQuestion, limits []*big.Rat) {
	l := q.Lift
	margin := int64(0)
	if l.Margin != nil {
		margin = *l.Margin
	}
	load := rat(int64(1+m.IntN(20_000_000)), 1)
	if len(limits) > 0 {
		load = pick(m, limits...)
	}
	l.LoadG, l.LoadLb = m.mass(times(load, rat(100, 100+margin)))
}

func TestAgreesWithSecondImplementation(t *testing.T) {
	s := *seed
	if s == 0 {
		s = uint64(time.Now().UnixNano())
	}
	t.Logf("again with: go test ./core/gate -run %s -rounds %d -seed %d", t.Name(), *rounds, s)
	m := maker{rand.New(rand.NewPCG(s, 0))}
	seen := map[string]int{}
	for range *rounds {
		q := m.question()
		if q.Lift != nil {
			if _, limits, err := askOracle(q); err == nil {
				m.atLimit(q, limits)
			}
		}
		want, _, wantErr := askOracle(q)
		line, err := json.Marshal(q)
		if err != nil {
			t.Fatal(err)
		}
		got, gotErr := answerLine(t, line)
		if (gotErr != nil) != (wantErr != nil) || gotErr == nil && !sameAnswer(got, want) {
			g, _ := json.Marshal(got)
			w, _ := json.Marshal(want)
			t.Fatalf("question %s\n got %s (%v)\n want %s (%v)", line, g, gotErr, w, wantErr)
		}
		switch {
		case wantErr != nil:
			seen["error"]++
		case len(want.Reasons) == 0:
			seen["issue"]++
		}
		for _, r := range want.Reasons {
			seen[r]++
		}
	}
	if *rounds < 10_000 {
		return
	}
	for _, r := range append(slices.Clone(oracleOrder), "issue", "error") {
		if seen[r] < 20 {
			t.Errorf("only %d of %d questions came to %q: the comparison says little about it", seen[r], *rounds, r)
		}
	}
}
