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
