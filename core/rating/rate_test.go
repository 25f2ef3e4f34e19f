package rating

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/source"

	"pgregory.net/rapid"
)

const lb = quantity.Pound

func usPlate(t testing.TB, g Grade, size string, legs int, stamps ...Stamp) Plate {
	return Plate{System: US, Grade: g, Size: mustSize(t, US, size), Legs: legs, Stamped: stamps}
}

func TestRateOneLeg(t *testing.T) {
	for _, tt := range []struct {
		name   string
		plate  Plate
		leg    quantity.Product
		why    source.Clause
		faults Fault
	}{
		// Site policy on the tables' rounding: 5 % below the cell leaves the leg alone, more lowers it.
		{"as the table", usPlate(t, Grade80, "3/8", 2, Stamp{2, H60, 12_300 * lb}), (7_100 * lb).Exact(), source.OSHATable1, 0},
		{"5 % below", usPlate(t, Grade80, "3/8", 2, Stamp{2, H60, 11_685 * lb}), (7_100 * lb).Exact(), source.OSHATable1, 0},
		{"one pound lower", usPlate(t, Grade80, "3/8", 2, Stamp{2, H60, 11_684 * lb}), (11_684 * lb).Times(quantity.Ratio{Num: 10_000, Den: 17_320}), source.TagGoverns, 0},
		{"2.5 % above", usPlate(t, Grade80, "3/8", 2, Stamp{2, H30, 7_277 * lb}), (7_100 * lb).Exact(), source.OSHATable1, 0},
		{"one pound higher", usPlate(t, Grade80, "3/8", 2, Stamp{2, H30, 7_278 * lb}), (7_100 * lb).Exact(), source.OSHATable1, StampTooHigh},
		{"nothing stamped", usPlate(t, Grade80, "3/8", 2), (7_100 * lb).Exact(), source.OSHATable1, NoStampedRating},
		// Rated by 1910.184, through WAC 296-24-29423: the weakest component.
		{"weakest component", Plate{System: US, Grade: Grade100, Size: mustSize(t, US, "3/8"), Legs: 1, Weakest: 7_100 * lb, Stamped: []Stamp{{1, Vertical, 8_800 * lb}}},
			(7_100 * lb).Exact(), source.WeakestPart, 0},
		{"weakest above the chain", Plate{System: US, Grade: Grade100, Size: mustSize(t, US, "3/8"), Legs: 1, Weakest: 8_801 * lb, Stamped: []Stamp{{1, Vertical, 8_800 * lb}}},
			(8_800 * lb).Exact(), source.OSHATable2, 0},
		// No row: the maker's chart rates, and only then.
		{"no row, no chart", usPlate(t, Grade100, "1-1/4", 1, Stamp{1, Vertical, 90_000 * lb}), quantity.Product{}, source.None, NoListedRating},
		{"no row, chart", Plate{System: US, Grade: Grade100, Size: mustSize(t, US, "1-1/4"), Legs: 1, Chart: 90_000 * lb, Stamped: []Stamp{{1, Vertical, 90_000 * lb}}},
			(90_000 * lb).Exact(), source.MakerChart, 0},
		{"row and chart", Plate{System: US, Grade: Grade80, Size: mustSize(t, US, "3/8"), Legs: 1, Chart: 6_000 * lb, Stamped: []Stamp{{1, Vertical, 7_100 * lb}}},
			(7_100 * lb).Exact(), source.OSHATable1, 0},
		{"EN grade 12 has no row", Plate{System: EN, Grade: Grade120, Size: mustSize(t, EN, "10"), Legs: 1, Stamped: []Stamp{{1, Vertical, 4 * quantity.Tonne}}},
			quantity.Product{}, source.None, NoListedRating},
		// Grade 120, two legs: single × factor stands for the cell; 17,441.24 lb is 5 % below 18,359.2.
		{"product stands for the cell", usPlate(t, Grade120, "3/8", 2, Stamp{2, H60, 17_442 * lb}), (10_600 * lb).Exact(), source.Grade120Formula, 0},
		{"lower than the product", usPlate(t, Grade120, "3/8", 2, Stamp{2, H60, 17_441 * lb}), (17_441 * lb).Times(quantity.Ratio{Num: 10_000, Den: 17_320}), source.TagGoverns, 0},
		{"higher than the product", usPlate(t, Grade120, "3/8", 2, Stamp{2, H60, 18_819 * lb}), (10_600 * lb).Exact(), source.Grade120Formula, StampTooHigh},
	} {
		t.Run(tt.name, func(t *testing.T) {
			if err := tt.plate.Check(); err != nil {
				t.Fatal(err)
			}
			r := Rate(&tt.plate)
			if r.Faults != tt.faults {
				t.Errorf("faults %b; want %b", r.Faults, tt.faults)
			}
			if order, ok := r.Leg.Cmp(tt.leg); ok != tt.leg.Known() || ok && order != 0 {
				t.Errorf("leg %v (known %v); want %v", r.Leg.Floor(), r.Leg.Known(), tt.leg.Floor())
			}
			if r.LegSource != tt.why {
				t.Errorf("source %v; want %v", r.LegSource, tt.why)
			}
		})
	}
}

// One step of ISO 3 series R40 is 6 %; stamps more than 7 % apart contradict.
func TestStampsDisagree(t *testing.T) {
	for _, tt := range []struct {
		one  quantity.Mass
		want Fault
	}{{7_100 * lb, 0}, {6_751 * lb, 0}, {6_635 * lb, StampsDisagree}} {
		// Two legs at h30 have factor 1: both stamps are loads of one leg.
		p := usPlate(t, Grade80, "3/8", 2, Stamp{1, Vertical, tt.one}, Stamp{2, H30, 7_100 * lb})
		if got := Rate(&p).Faults; got != tt.want {
			t.Errorf("stamps of %v and 7,100 lb: faults %b; want %b", tt.one.InPounds(), got, tt.want)
		}
	}
	// Exactly 7 % is not more than 7 %. No table row here, so only the stamps speak.
	p := usPlate(t, Grade100, "1-1/4", 2, Stamp{1, Vertical, 100_000 * lb}, Stamp{2, H30, 107_000 * lb})
	if got := Rate(&p).Faults; got != NoListedRating {
		t.Errorf("exactly 7 %% apart: faults %b", got)
	}
	p.Stamped[1].Load += quantity.Mass(lb)
	if got := Rate(&p).Faults; got != NoListedRating|StampsDisagree {
		t.Errorf("a pound more than 7 %% apart: faults %b", got)
	}
}

func TestLoadTakesTheSmallest(t *testing.T) {
	p := usPlate(t, Grade80, "3/8", 4, Stamp{3, H60, 18_300 * lb}, Stamp{4, H60, 18_400 * lb})
	r := Rate(&p)
	for _, tt := range []struct {
		legs  int
		b     Basis
		byTag bool
		want  quantity.Product
		why   source.Clause
	}{
		{4, H60, true, (18_300 * lb).Exact(), source.TagGoverns},                                           // the smaller of two stamps of one class
		{3, H60, false, (18_400 * lb).Exact(), source.OSHATable1},                                          // 7,100 × 2.598 = 18,445.8
		{4, H45, true, (7_100 * lb).Times(quantity.Ratio{Num: 21_213, Den: 10_000}), source.USMultipliers}, // 15,061.23 below 15,100
		{2, H60, true, (7_100 * lb).Times(quantity.Ratio{Num: 17_320, Den: 10_000}), source.USMultipliers}, // 12,297.2 below 12,300
		{1, Vertical, true, (7_100 * lb).Exact(), source.USMultipliers},                                    // not stamped
		{2, H30, true, (7_100 * lb).Exact(), source.USMultipliers},                                         // product and cell alike
		{4, H30, true, (10_600 * lb).Exact(), source.OSHATable1},                                           // 10,650 above 10,600
	} {
		got, why := r.Load(tt.legs, tt.b, tt.byTag)
		if order, ok := got.Cmp(tt.want); !ok || order != 0 || why != tt.why {
			t.Errorf("Load(%d, %s, %v) = %v by %v; want %v by %v", tt.legs, tt.b, tt.byTag, got.Floor(), why, tt.want.Floor(), tt.why)
		}
	}
	for _, tt := range []struct {
		legs int
		b    Basis
	}{{1, H60}, {2, Vertical}, {0, Vertical}, {2, 0}} {
		if got, why := r.Load(tt.legs, tt.b, true); got.Known() || why != source.None {
			t.Errorf("Load(%d, %s) = %v by %v; want not known", tt.legs, tt.b, got.Floor(), why)
		}
	}
	var zero Rating
	if got, _ := zero.Load(1, Vertical, true); got.Known() {
		t.Errorf("the zero Rating carries %v", got.Floor())
	}
}

func TestPlateCheckRejects(t *testing.T) {
	good := usPlate(t, Grade80, "3/8", 2, Stamp{2, H60, 12_300 * lb})
	if err := good.Check(); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		field  string
		change func(*Plate)
	}{
		{"system", func(p *Plate) { p.System = 0 }},
		{"size", func(p *Plate) { p.System = EN }},
		{"size", func(p *Plate) { p.Size = Size{} }},
		{"grade", func(p *Plate) { p.Grade = 43 }},
		{"legs", func(p *Plate) { p.Legs = 0 }},
		{"legs", func(p *Plate) { p.Legs = 5 }},
		{"reach", func(p *Plate) { p.Reach = -quantity.Millimetre }},
		{"reach", func(p *Plate) { p.Reach = 500 }},
		{"reach", func(p *Plate) { p.Reach = MaxReach + quantity.Millimetre }},
		{"stamped", func(p *Plate) { p.Stamped = []Stamp{{3, H60, 12_300 * lb}} }},
		{"stamped", func(p *Plate) { p.Stamped = []Stamp{{0, H60, 12_300 * lb}} }},
		{"stamped", func(p *Plate) { p.Stamped = []Stamp{{2, Vertical, 12_300 * lb}} }},
		{"stamped", func(p *Plate) { p.Stamped = []Stamp{{1, H60, 12_300 * lb}} }},
		{"stamped", func(p *Plate) { p.Stamped = []Stamp{{2, B45, 12_300 * lb}} }},
		{"stamped", func(p *Plate) { p.Stamped = []Stamp{{2, H60, 0}} }},
		{"stamped", func(p *Plate) { p.Stamped = []Stamp{{2, H60, quantity.Gram + 1}} }},
		{"stamped", func(p *Plate) { p.Stamped = []Stamp{{2, H60, quantity.MaxMass + quantity.Gram}} }},
		{"chart", func(p *Plate) { p.Chart = -1 }},
		{"weakest", func(p *Plate) { p.Weakest = 1 }},
		{"master", func(p *Plate) { p.Master = quantity.MaxMass * 2 }},
	} {
		p := good
		tt.change(&p)
		var e *PlateError
		if err := p.Check(); !errors.As(err, &e) || e.Field != tt.field {
			t.Errorf("plate with bad %s: %v", tt.field, err)
		}
		if f, err := CheckStamps(p); err == nil || f.Stamps != nil {
			t.Errorf("CheckStamps of a plate with bad %s: %v, %v", tt.field, f, err)
		}
	}
}

func TestCheckStampsSpeaks(t *testing.T) {
	p := usPlate(t, Grade80, "3/8", 2, Stamp{2, H60, 12_500 * lb}, Stamp{2, H45, 9_000 * lb}, Stamp{2, H30, 7_300 * lb})
	f, err := CheckStamps(p)
	if err != nil {
		t.Fatal(err)
	}
	for i, want := range []struct {
		fit     Fit
		percent string
		words   string
	}{
		{Agrees, "+1.7 %", "agrees"}, {Lower, "−10 %", "rates the leg"}, {TooHigh, "+2.9 %", "read the plate again"},
	} {
		got := f.Stamps[i]
		if got.Fit != want.fit || got.Percent() != want.percent || !strings.Contains(got.Words(quantity.Imperial), want.words) {
			t.Errorf("stamp %d: fit %d, %s, %q; want %v", i+1, got.Fit, got.Percent(), got.Words(quantity.Imperial), want)
		}
	}
	if got := f.Words(); len(got) != 2 || !strings.Contains(got[0], "higher") || !strings.Contains(got[1], "contradict") {
		t.Errorf("plate: %q", got)
	}
	none, err := CheckStamps(usPlate(t, Grade100, "1-1/4", 1, Stamp{1, Vertical, 90_000 * lb}))
	if err != nil || none.Stamps[0].Fit != UnknownFit || none.Stamps[0].Cell != 0 || len(none.Words()) != 1 {
		t.Errorf("no row: %+v, %v", none.Stamps, err)
	}
	product, err := CheckStamps(usPlate(t, Grade120, "3/8", 2, Stamp{2, H60, 18_300 * lb}))
	if err != nil || product.Stamps[0].Printed || !strings.Contains(product.Stamps[0].Words(quantity.Metric), "times factor") {
		t.Errorf("no cell: %+v, %v", product.Stamps, err)
	}
}

func TestWordsForPeople(t *testing.T) {
	for _, f := range Faults() {
		if f.String() == "" || !strings.HasSuffix(f.Words(), ".") {
			t.Errorf("fault %b: %q, %q", f, f.String(), f.Words())
		}
	}
	if both := NoListedRating | StampTooHigh; both.String() != "" || both.Words() != "" {
		t.Errorf("two faults read as one: %q", both)
	}
	for z, want := range map[Size]string{mustSize(t, US, "1-1/4"): "1-1/4 in", mustSize(t, EN, "10"): "10 mm", {}: "no size"} {
		if z.Words() != want {
			t.Errorf("size %q; want %q", z.Words(), want)
		}
	}
	seen := map[string]bool{}
	for b := Vertical; b <= B60; b++ {
		if seen[b.Words()] || b.Words() == Basis(0).Words() {
			t.Errorf("basis %s in words is %q", b, b.Words())
		}
		seen[b.Words()] = true
	}
	if System(9).String() != "" || Basis(99).String() != "" || Bases(0, 2) != nil || (Size{system: US, place: 99}).Nominal() != 0 {
		t.Error("what is not known has a spelling or a size")
	}
	if p := usPlate(t, Grade80, "3/8", 2, Stamp{2, H60, 12_300 * lb}, Stamp{1, Vertical, 7_100 * lb}); p.LargestStamp() != 12_300*lb {
		t.Errorf("largest stamp %v", p.LargestStamp())
	}
}

func drawPlate(t *rapid.T) Plate {
	s := rapid.SampledFrom([]System{US, EN}).Draw(t, "system")
	p := Plate{
		System: s, Grade: rapid.SampledFrom([]Grade{Grade80, Grade100, Grade120}).Draw(t, "grade"),
		Size: rapid.SampledFrom(Sizes(s)).Draw(t, "size"), Legs: rapid.IntRange(1, 4).Draw(t, "legs"),
	}
	for range rapid.IntRange(0, 3).Draw(t, "stamps") {
		p.Stamped = append(p.Stamped, drawStamp(t, p))
	}
	if rapid.Bool().Draw(t, "weakest given") {
		p.Weakest = quantity.Mass(rapid.Int64Range(1, 50_000).Draw(t, "weakest")) * quantity.Kilogram
	}
	return p
}

func drawStamp(t *rapid.T, p Plate) Stamp {
	legs := rapid.IntRange(1, p.Legs).Draw(t, "stamp legs")
	b := rapid.SampledFrom(Bases(p.System, legs)).Draw(t, "basis")
	load := quantity.Mass(rapid.Int64Range(1, 200_000).Draw(t, "load")) * quantity.Kilogram
	if cell, ok := TableCell(p.Grade, p.Size, legs, b); ok {
		load = (cell.Load * quantity.Mass(rapid.Int64Range(90, 104).Draw(t, "per cent")) / 100).Floor(quantity.Gram)
	}
	return Stamp{legs, b, load}
}

// Adding a stamp never raises the rating of a leg and never takes a fault away,
// except that something is stamped at all.
func TestOneMoreStampNeverHelps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlate(t)
		more := p
		more.Stamped = append(slices.Clone(p.Stamped), drawStamp(t, p))
		a, b := Rate(&p), Rate(&more)
		if order, ok := b.Leg.Cmp(a.Leg); ok && order > 0 {
			t.Fatalf("leg rises from %v to %v", a.Leg.Floor(), b.Leg.Floor())
		}
		if lost := a.Faults &^ NoStampedRating &^ b.Faults; lost != 0 {
			t.Fatalf("fault %s is gone", lost)
		}
	})
}

// A flatter basis and fewer legs never carry more; what the legs carry is never
// more than the printed cell or the weakest component × factor.
func TestLoadLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := drawPlate(t)
		r := Rate(&p)
		for _, legs := range []int{2, 3, 4} {
			bases := Bases(p.System, legs)
			for i, b := range bases {
				load, why := r.Load(legs, b, false)
				if load.Known() != (r.Single > 0) || load.Known() && why == source.None {
					t.Fatalf("%d legs %s: known %v, single %v, by %v", legs, b, load.Known(), r.Single, why)
				}
				if !load.Known() {
					continue
				}
				if i > 0 {
					if steeper, _ := r.Load(legs, bases[i-1], false); load.More(steeper) {
						t.Fatalf("%d legs: %s carries more than %s", legs, b, bases[i-1])
					}
				}
				if cell, ok := TableCell(p.Grade, p.Size, legs, b); ok && load.More(cell.Load.Exact()) {
					t.Fatalf("%d legs %s: %v is over the cell %v", legs, b, load.Floor(), cell.Load)
				}
				f, _ := Factor(legs, b)
				if p.Weakest > 0 && load.More(p.Weakest.Times(f)) {
					t.Fatalf("%d legs %s: %v is over the weakest", legs, b, load.Floor())
				}
			}
		}
	})
}

func BenchmarkRate(b *testing.B) {
	p := usPlate(b, Grade80, "3/8", 2, Stamp{2, H60, 12_300 * lb}, Stamp{2, H45, 10_000 * lb})
	b.ReportAllocs()
	for b.Loop() {
		r := Rate(&p)
		if r.Faults != 0 {
			b.Fatal(r.Faults)
		}
	}
}

func ExampleRate() {
	size, err := ParseSize(US, "3/8")
	if err != nil {
		panic(err)
	}
	plate := Plate{System: US, Grade: Grade80, Size: size, Legs: 2, Stamped: []Stamp{{2, H60, 12_300 * quantity.Pound}}}
	r := Rate(&plate)
	for _, basis := range Bases(plate.System, plate.Legs) {
		load, why := r.Load(plate.Legs, basis, true)
		fmt.Printf("%s: %s by %s\n", basis.Words(), load.Floor().InPounds(), why.Key())
	}
	// Output:
	// 60° from horizontal: 12,300 lb by tag-governs
	// 45° from horizontal: 10,000 lb by osha-table-1
	// 30° from horizontal: 7,100 lb by us-multipliers
}
