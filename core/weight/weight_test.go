package weight

import (
	"errors"
	"math"
	"math/big"
	"testing"

	"cribgate/core/quantity"
	"cribgate/core/source"

	"pgregory.net/rapid"
)

const (
	mm   = quantity.Millimetre
	inch = quantity.Inch
	foot = quantity.Foot
)

// Weights that the trade prints, to the rounding of the print.
func TestPrintedWeights(t *testing.T) {
	for _, tt := range []struct {
		source   string
		m        Material
		s        Shape
		size     Size
		pounds   float64
		kilogram float64
		within   float64
	}{
		{"steel 490 lb/ft³ (Iowa DOT IM 452.02): a foot cubed", Steel, Plate, Size{Length: foot, Width: foot, Thickness: foot}, 490, 0, 0.001},
		{"the same in metres: 7,850 kg", Steel, Plate, Size{Length: 1000 * mm, Width: 1000 * mm, Thickness: 1000 * mm}, 0, 7850, 1e-9},
		{"trade rule: a square foot of steel plate of 1 in weighs 40.8 lb", Steel, Plate, Size{Length: foot, Width: foot, Thickness: inch}, 40.84, 0, 0.001},
		{"rigger's study guide: 20 ft of 36 in pipe of schedule 40 at 282.36 lb/ft, wall 3/4 in", Steel, Pipe, Size{Length: 20 * foot, Diameter: 36 * inch, Thickness: 3 * inch / 4}, 5647.2, 0, 0.002},
		{"trade page: a block 2 × 2 × 4 ft weighs 2,400 lb at 150 lb/ft³; reinforced 6 % more", Concrete, Plate, Size{Length: 4 * foot, Width: 2 * foot, Thickness: 2 * foot}, 2400 * 2550 / 2403.0, 0, 0.001},
		{"round bar of 25 mm: 3.85 kg/m (trade tables, from memory)", Steel, Round, Size{Length: 1000 * mm, Diameter: 25 * mm}, 0, 3.853, 0.001},
		{"square bar of 25 mm: 4.91 kg/m (trade tables, from memory)", Steel, Square, Size{Length: 1000 * mm, Width: 25 * mm}, 0, 4.906, 0.001},
	} {
		got, err := Of(tt.m, tt.s, tt.size, 1)
		want := tt.kilogram * float64(quantity.Kilogram)
		if tt.pounds > 0 {
			want = tt.pounds * float64(quantity.Pound)
		}
		if err != nil || math.Abs(float64(got)-want) > tt.within*want {
			t.Errorf("%s: %v (%v), %v", tt.source, got, got.InPounds(), err)
		}
	}
}

func TestSizesThatCannotBe(t *testing.T) {
	good := Size{Length: 1000 * mm, Diameter: 100 * mm, Thickness: 10 * mm}
	if _, err := Of(Steel, Pipe, good, 1); err != nil {
		t.Fatal(err)
	}
	for field, change := range map[string]func(*Size){
		"length":    func(z *Size) { z.Length = 0 },
		"width":     func(z *Size) { z.Width = 1 },
		"diameter":  func(z *Size) { z.Diameter = MaxLength + 1 },
		"thickness": func(z *Size) { z.Thickness = 50 * mm },
	} {
		z := good
		change(&z)
		var e *SizeError
		if got, err := Of(Steel, Pipe, z, 1); got != 0 || !errors.As(err, &e) || e.Field != field {
			t.Errorf("%s: %v, %v", field, got, err)
		}
	}
	for _, pieces := range []int{0, -1, 10_001} {
		if got, err := Of(Steel, Pipe, good, pieces); got != 0 || err == nil {
			t.Errorf("%d pieces: %v", pieces, got)
		}
	}
	huge := Size{Length: MaxLength, Width: MaxLength, Thickness: MaxLength}
	if got, err := Of(Steel, Plate, huge, 1); got != 0 || err == nil { // 7.85 × 10^12 g
		t.Errorf("a cube of 100 m: %v", got)
	}
	if got, err := Of(Steel, Plate, Size{Length: MaxLength, Width: MaxLength, Thickness: 10 * quantity.Metre}, 1); err != nil || got != 785_000_000*quantity.Kilogram {
		t.Errorf("a tenth of it: %v, %v", got, err)
	}
	for m, s := range map[Material]Shape{0: Plate, 99: Plate, Steel: 0, Water: 77} {
		if got, err := Of(m, s, good, 1); got != 0 || !errors.Is(err, ErrNone) {
			t.Errorf("material %d, shape %d: %v, %v", m, s, got, err)
		}
	}
}

func TestWordsReadBack(t *testing.T) {
	for _, m := range Materials() {
		if back, ok := ParseMaterial(m.String()); !ok || back != m || m.Words() == "" || m.Source() == source.None {
			t.Errorf("%d reads back as %d", m, back)
		}
	}
	for s := Plate; s <= Pipe; s++ {
		if back, ok := ParseShape(s.String()); !ok || back != s {
			t.Errorf("%d reads back as %d", s, back)
		}
	}
	_, ok := ParseMaterial("")
	if _, ok2 := ParseShape(""); ok || ok2 || Shape(9).String() != "" {
		t.Error("what is none has a word")
	}
}

// Never less than the exact weight, and more by less than a millionth and a cubic
// millimetre a piece.
func TestRoundedUpAndHardly(t *testing.T) {
	pi, _ := new(big.Float).SetPrec(200).SetString("3.14159265358979323846264338327950288419716939937510")
	rapid.Check(t, func(t *rapid.T) {
		length := func(name string, most int64) quantity.Length {
			return quantity.Length(rapid.Int64Range(1, most).Draw(t, name))
		}
		m := rapid.SampledFrom(Materials()).Draw(t, "material")
		s := rapid.SampledFrom([]Shape{Plate, Square, Round, Pipe}).Draw(t, "shape")
		z := Size{Length: length("length", 50_000_000)}
		f := func(l quantity.Length) *big.Float { return new(big.Float).SetPrec(200).SetInt64(int64(l)) }
		product := func(v *big.Float, more ...*big.Float) *big.Float {
			v = new(big.Float).SetPrec(200).Set(v)
			for _, x := range more {
				v.Mul(v, x)
			}
			return v
		}
		var area *big.Float
		quarter := new(big.Float).SetPrec(200).Quo(pi, big.NewFloat(4))
		switch s {
		case Plate:
			z.Width, z.Thickness = length("width", 5_000_000), length("thickness", 500_000)
			area = product(f(z.Width), f(z.Thickness))
		case Square:
			z.Width = length("width", 500_000)
			area = product(f(z.Width), f(z.Width))
		case Round:
			z.Diameter = length("diameter", 2_000_000)
			area = product(quarter, f(z.Diameter), f(z.Diameter))
		case Pipe:
			z.Diameter = length("diameter", 2_000_000) + 2
			z.Thickness = length("thickness", int64(z.Diameter-1)/2)
			bore := z.Diameter - 2*z.Thickness
			area = new(big.Float).Sub(product(f(z.Diameter), f(z.Diameter)), product(f(bore), f(bore)))
			area.Mul(area, quarter)
		}
		pieces := rapid.IntRange(1, 100).Draw(t, "pieces")
		got, err := Of(m, s, z, pieces)
		if err != nil {
			t.Fatal(err)
		}
		// µm³ × kg/m³ = 10⁻¹⁸ kg = 10⁻¹⁰ of Mass's units.
		exact, _ := new(big.Float).Quo(product(area, f(z.Length), big.NewFloat(float64(m.Density())), big.NewFloat(float64(pieces))), big.NewFloat(1e10)).Float64()
		most := exact*(1+1e-7) + float64(pieces)*(float64(m.Density())/10+1)*(1+float64(z.Length)/1e9)
		if float64(got) < exact*(1-1e-15) || float64(got) > most {
			t.Fatalf("%v; exactly %.3f, at most %.3f units", int64(got), exact, most)
		}
	})
}
