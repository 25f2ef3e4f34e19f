package quantity

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestText(t *testing.T) {
	of := func(n int64, unit Mass) Mass {
		m, ok := Of(n, unit)
		if !ok {
			t.Fatalf("Of(%d, %d) is out of range", n, unit)
		}
		return m
	}
	for _, c := range []struct{ got, want string }{
		{of(12_300, Pound).InPounds(), "12,300 lb"},
		{of(12_300, Pound).InKilograms(), "5,579 kg"},
		{of(12_300, Pound).String(), "5,579.186 kg"},
		{of(3150, Kilogram).InTonnes(), "3.15 t"},
		{of(3150, Kilogram).String(), "3,150 kg"},
		{of(1, Gram).String(), "0.001 kg"},
		{of(MaxPounds, Pound).InPounds(), "2,204,622,621 lb"},
		{Mass(0).String(), "0 kg"},
		{(9350 * Micrometre).String(), "9.35 mm"},
		{(-9350 * Micrometre).String(), "-9.35 mm"},
		{(2400 * Millimetre).InMetres(), "2.4 m"},
		{(Inch * 3 / 8).InInches(), "3/8 in"},
		{(Inch + Inch/4).InInches(), "1 1/4 in"},
		{(5 * Inch).InInches(), "5 in"},
		{(-Inch / 2).InInches(), "-1/2 in"},
		{Length(0).InInches(), "0 in"},
		{(2400 * Millimetre).InInches(), "94 31/64 in"},
		{(2400 * Millimetre).InFeet(), "7 ft 10 31/64 in"},
		{(10 * Foot).InFeet(), "10 ft"},
		{(2400 * Millimetre).HalfInch().InFeet(), "7 ft 10 1/2 in"},
		{(10*Foot + Inch/4 - 1).HalfInch().InFeet(), "10 ft"},
		{(10*Foot + Inch/4).HalfInch().InFeet(), "10 ft 1/2 in"},
		{(10*Foot + 3*Inch/4 - 1).HalfInch().InFeet(), "10 ft 1/2 in"},
		{(10*Foot + 3*Inch/4).HalfInch().InFeet(), "10 ft 1 in"},
		{(11 * Inch).InFeet(), "11 in"},
		{Length(math.MaxInt64).InFeet(), "30,260,406,945,061 ft 7 13/64 in"},
		{(52 * Degree).String(), "52°"},
		{(52*Degree + 500*MilliDegree).String(), "52.5°"},
		{(MilliDegree / 2).String(), "0.0005°"},
		{Celsius(-40).InCelsius(), "-40 °C"},
		{Celsius(-40).InFahrenheit(), "-40 °F"},
		{Fahrenheit(400).String(), "204 °C"},
		{Fahrenheit(1000).InCelsius(), "538 °C"},
	} {
		if c.got != c.want {
			t.Errorf("got %q, want %q", c.got, c.want)
		}
	}
}

func TestMassRange(t *testing.T) {
	for _, c := range []struct {
		n    int64
		unit Mass
		want Mass
		ok   bool
	}{
		{1, Gram, Gram, true},
		{0, Gram, 0, false},
		{-1, Gram, 0, false},
		{1, 1, 0, false}, // 10 µg
		{MaxGrams, Gram, MaxMass, true},
		{MaxGrams + 1, Gram, 0, false},
		{1, Pound, 45_359_237, true},
		{MaxPounds, Pound, Mass(MaxPounds) * Pound, true},
		{MaxPounds + 1, Pound, 0, false},
		{math.MaxInt64, Tonne, 0, false},
		{math.MinInt64, Tonne, 0, false},
		{1, 0, 0, false},
		{1, -1, 0, false},
	} {
		if m, ok := Of(c.n, c.unit); m != c.want || ok != c.ok {
			t.Errorf("Of(%d, %d) = %d, %v; want %d, %v", c.n, c.unit, m, ok, c.want, c.ok)
		}
	}
}

func TestRounding(t *testing.T) {
	for _, c := range []struct{ got, want int64 }{
		{Mass(49_999).Grams(), 0},
		{Mass(50_000).Grams(), 1}, // halves up
		{Mass(-50_000).Grams(), 0},
		{Mass(-50_001).Grams(), -1},
		{Mass(math.MaxInt64).Grams(), 92_233_720_368_548},
		{(12_300 * Pound).Grams(), 5_579_186},
		{Pound.Grams(), 454},
		{(Pound/2 + 1).Pounds(), 1},
		{(Pound / 2).Pounds(), 0}, // 22,679,618 of 45,359,237 is under a half
		{int64((2*Pound - 1).Floor(Pound)), int64(Pound)},
		{int64((2 * Pound).Floor(Pound)), int64(2 * Pound)},
		{int64((2*Pound + 1).Ceil(Pound)), int64(3 * Pound)},
		{int64((2 * Pound).Ceil(Pound)), int64(2 * Pound)},
		{int64(Mass(math.MaxInt64).Ceil(Tonne)), math.MaxInt64},
		{int64(SixtyFourthsDown(1)), 396}, // 396.875 µm
		{int64(SixtyFourthsUp(1)), 397},
		{int64(SixtyFourthsDown(64)), int64(Inch)},
		{int64(SixtyFourthsUp(64)), int64(Inch)},
		{(3 * MilliDegree / 2).MilliDegrees(), 2}, // 1.5
		{Angle(-3).MilliDegrees(), -1},            // -1.5
		{Fahrenheit(399).Celsius(), 204},          // 203.9
		{Celsius(204).Fahrenheit(), 399},          // 399.2
		{Celsius(-273).Fahrenheit(), -459},
		{(1499 * Micrometre).Millimetres(), 1},
		{(1500 * Micrometre).Millimetres(), 2},
	} {
		if c.got != c.want {
			t.Errorf("got %d, want %d", c.got, c.want)
		}
	}
	if n, ok := (3 * Pound).Whole(Pound); n != 3 || !ok {
		t.Errorf("3 lb is %d lb, %v", n, ok)
	}
	if _, ok := (3 * Pound).Whole(Gram); ok {
		t.Error("3 lb is a whole number of grams")
	}
}

// °C and °F meet where c × 9/5 + 32 says, and nowhere else.
func TestTemperatureScales(t *testing.T) {
	for c := int64(MinCelsius); c <= MaxCelsius; c++ {
		for f := int64(MinFahrenheit); f <= MaxFahrenheit; f++ {
			same := 9*c == 5*(f-32)
			if (Celsius(c) == Fahrenheit(f)) != same || (Celsius(c) < Fahrenheit(f)) != (9*c < 5*(f-32)) {
				t.Fatalf("%d °C and %d °F compare wrongly", c, f)
			}
		}
	}
	if Fahrenheit(MinFahrenheit) < MinTemperature || Fahrenheit(MinFahrenheit-1) >= MinTemperature {
		t.Error("MinFahrenheit is not the last whole degree in range")
	}
	if Fahrenheit(MaxFahrenheit) > MaxTemperature || Fahrenheit(MaxFahrenheit+1) <= MaxTemperature {
		t.Error("MaxFahrenheit is not the last whole degree in range")
	}
	if n, ok := Fahrenheit(399).WholeFahrenheit(); n != 399 || !ok {
		t.Errorf("399 °F reads back as %d, %v", n, ok)
	}
	if _, ok := Fahrenheit(399).WholeCelsius(); ok {
		t.Error("399 °F is a whole number of °C")
	}
	if n, ok := Celsius(-40).WholeFahrenheit(); n != -40 || !ok {
		t.Errorf("-40 °C is %d °F, %v", n, ok)
	}
}

func TestDecimalReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.Int64().Draw(t, "n")
		s := group(n)
		plain := ""
		for i, c := range s {
			if c == ',' {
				if (len(s)-i)%4 != 0 {
					t.Fatalf("comma misplaced in %q", s)
				}
				continue
			}
			plain += string(c)
		}
		if plain != strconv.FormatInt(n, 10) {
			t.Fatalf("group(%d) = %q", n, s)
		}
	})
}
