package rating

import (
	"testing"

	"cribgate/core/quantity"

	"pgregory.net/rapid"
)

// US OSHA, Guidance on Safe Sling Use, table 1: 3/8 in, grade 80, two legs at 60°:
// 12,300 lb; one leg 7,100 lb.
func TestTagDoubt(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*Plate)
		want   TagDoubt
	}{
		{"one stamp", func(*Plate) {}, TagSure},
		{"none", func(p *Plate) { p.Stamped = nil }, TagSure},
		{"2.5 % above its cell", func(p *Plate) { p.Stamped[0].Load = 12_607 * lb }, TagSure},
		{"more", func(p *Plate) { p.Stamped[0].Load = 12_608 * lb }, PlateInDoubt},
		{"another that agrees", func(p *Plate) { p.Stamped = append(p.Stamped, Stamp{2, H45, 10_000 * lb}) }, TagSure},
		{"another that is too high", func(p *Plate) { p.Stamped = append(p.Stamped, Stamp{2, H45, 10_600 * lb}) }, PlateInDoubt},
		{"another that disagrees", func(p *Plate) { p.Stamped = append(p.Stamped, Stamp{2, H45, 5_000 * lb}) }, PlateInDoubt},
		{"the same twice, less", func(p *Plate) { p.Stamped = append(p.Stamped, Stamp{2, H60, 12_299 * lb}) }, LoadHigh},
		{"the same twice, more", func(p *Plate) { p.Stamped = append(p.Stamped, Stamp{2, H60, 12_301 * lb}) }, TagSure},
		// 6,929 lb × 1.732 × 1.025 = 12,300.98 lb; 6,928 lb: 12,299.2 lb.
		{"a component as weak as may be", func(p *Plate) { p.Weakest = 6_929 * lb }, TagSure},
		{"a weaker one", func(p *Plate) { p.Weakest = 6_928 * lb }, LoadHigh},
		{"an upper fitting that just bears it", func(p *Plate) { p.Master = 12_300 * lb }, TagSure},
		{"a weaker one", func(p *Plate) { p.Master = 12_300*lb - quantity.Gram }, LoadHigh},
	} {
		p := usPlate(t, Grade80, "3/8", 2, Stamp{2, H60, 12_300 * lb})
		c.change(&p)
		if got := p.TagDoubt(); got != c.want {
			t.Errorf("%s: %d, want %d", c.name, got, c.want)
		}
	}
}

// What a tag shows without a doubt is never more than the record would give, but
// for the tables' rounding.
func TestTagShowsNoMoreThanTheRecord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		legs := rapid.IntRange(2, 4).Draw(t, "legs")
		size, err := ParseSize(US, rapid.SampledFrom([]string{"9/32", "3/8", "1/2"}).Draw(t, "size"))
		if err != nil {
			t.Fatal(err)
		}
		p := Plate{System: US, Grade: Grade80, Size: size, Legs: legs}
		r := Rate(&p)
		near := func(name string, b Basis) quantity.Mass {
			cell, _, _ := r.Cell(legs, b)
			return cell.Floor().Floor(quantity.Pound) / 100 * quantity.Mass(rapid.IntRange(90, 104).Draw(t, name))
		}
		for range rapid.IntRange(1, 3).Draw(t, "stamps") {
			b := rapid.SampledFrom([]Basis{H60, H45, H30}).Draw(t, "basis")
			p.Stamped = append(p.Stamped, Stamp{legs, b, near("load", b).Floor(quantity.Pound)})
		}
		if rapid.Bool().Draw(t, "weak") {
			p.Weakest = (r.Single / 100 * quantity.Mass(rapid.IntRange(50, 110).Draw(t, "weakest"))).Floor(quantity.Pound)
		}
		if p.TagDoubt() != TagSure {
			return
		}
		on := FromTag(p.TagFacts()).Stamped[0]
		rated := Rate(&p)
		if most, _ := rated.Load(legs, on.Basis, true); on.Load.Exact().More(most.Times(stampHigh)) {
			t.Errorf("%+v: the tag shows %s, the record gives %.0f", p, on.Load.InPounds(), most.Float())
		}
	})
}
