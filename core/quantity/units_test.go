package quantity

import "testing"

func TestUnitsLeadWithTheirOwn(t *testing.T) {
	for _, tt := range []struct {
		units             Units
		mass, length, hot string
	}{
		{Imperial, "12,300 lb", "94 31/64 in", "400 °F"},
		{0, "12,300 lb", "94 31/64 in", "400 °F"},
		{Metric, "5,579 kg", "2,400 mm", "204 °C"},
	} {
		if got := tt.units.Mass(12_300 * Pound); got != tt.mass {
			t.Errorf("units %d: mass %q; want %q", tt.units, got, tt.mass)
		}
		if got := tt.units.Length(2_400 * Millimetre); got != tt.length {
			t.Errorf("units %d: length %q; want %q", tt.units, got, tt.length)
		}
		if got := tt.units.Temperature(Fahrenheit(400)); got != tt.hot {
			t.Errorf("units %d: temperature %q; want %q", tt.units, got, tt.hot)
		}
	}
}

// What may be lifted is never said to be more than it is: a pound is 453.59237 g.
func TestMassDown(t *testing.T) {
	for _, tt := range []struct {
		units Units
		mass  Mass
		want  string
	}{
		{Imperial, 3_150 * Kilogram, "6,944 lb"}, // 6,944.56
		{Metric, 3_150 * Kilogram, "3,150 kg"},
		{Metric, 12_300 * Pound, "5,579 kg"}, // 5,579.19
		{Metric, 12_302 * Pound, "5,580 kg"}, // 5,580.09
		{Metric, 12_301 * Pound, "5,579 kg"}, // 5,579.64
		{0, 12_300 * Pound, "12,300 lb"},
	} {
		if got := tt.units.MassDown(tt.mass); got != tt.want {
			t.Errorf("%d of units %d: %q, want %q", tt.mass, tt.units, got, tt.want)
		}
	}
}
