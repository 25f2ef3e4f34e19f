package web

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"

	"cribgate/core/quantity"
)

// wholeNumber is the one rule by which people's whole numbers are read: digits
// alone, or in groups of three with a comma or a space between them. A point or
// a comma anywhere else could be a decimal sign in one country and a thousands
// sign in another, so it is refused and never guessed.
var wholeNumber = regexp.MustCompile(`^(?:[0-9]+|[1-9][0-9]{0,2}(?:,[0-9]{3})+|[1-9][0-9]{0,2}(?: [0-9]{3})+)$`)

// readLoad reads a load as people type it. The complaint is empty, or one
// sentence to show at the field.
func readLoad(text string, unit quantity.Mass) (load quantity.Mass, complaint string) {
	// 1 t is 1,000 kg and 2,204.62 lb, a short ton 2,000 lb, by definition.
	name, tons := "pounds", "A short ton is 2,000 lb, a tonne 2,205 lb"
	if unit == quantity.Kilogram {
		name, tons = "kilograms", "3.5 t is 3,500 kg"
	}
	switch {
	case text == "":
		return 0, "Type the load. Where nobody knows it, it is weighed or looked up before a sling goes."
	case strings.HasPrefix(text, "-") || strings.HasPrefix(text, "−"):
		return 0, "A load is more than nothing: type it without a minus sign."
	case !wholeNumber.MatchString(text):
		return 0, fmt.Sprintf("Type whole %s in digits, like 12000, 12,000 or 12 000. %s. Round a fraction up, and take an estimate at its most.", name, tons)
	}
	digits := strings.TrimLeft(strings.NewReplacer(",", "", " ", "").Replace(text), "0")
	if digits == "" {
		return 0, "A load of 0 is no lift: type what hangs from the hook, rigging included."
	}
	n, err := strconv.ParseInt(digits, 10, 64)
	if err == nil {
		var ok bool
		if load, ok = quantity.Of(n, unit); ok {
			return load, ""
		}
	}
	return 0, "This is more than a million tonnes: count the digits again."
}

var degreeNumber = regexp.MustCompile(`^[0-9]{1,3}(?:\.[0-9]{1,3})?$`)

// readDegrees reads an angle in degrees, to the thousandth.
func readDegrees(text string) (quantity.Angle, string) {
	if text == "" {
		return 0, "Type the angle in degrees, or answer by the drawing."
	}
	if !degreeNumber.MatchString(text) {
		return 0, "Type degrees in digits, like 52 or 52.5, with a point and at most three digits behind it."
	}
	whole, rest, _ := strings.Cut(text, ".")
	n, err := strconv.ParseInt(whole+(rest + "000")[:3], 10, 64)
	if err != nil {
		return 0, "Type degrees in digits, like 52 or 52.5."
	}
	return quantity.Angle(n) * quantity.MilliDegree, ""
}

var temperatureNumber = regexp.MustCompile(`^[-−+]?[0-9]{1,4}$`)

// readTemperature reads whole degrees of either scale.
func readTemperature(text string, fahrenheit bool) (quantity.Temperature, string) {
	if text == "" {
		return 0, "Type the temperature that the chain will reach."
	}
	if !temperatureNumber.MatchString(text) {
		return 0, "Type whole degrees in digits, like 300 or -20."
	}
	n, err := strconv.ParseInt(strings.ReplaceAll(text, "−", "-"), 10, 64)
	if err != nil {
		return 0, "Type whole degrees in digits, like 300 or -20."
	}
	least, most, scale := int64(quantity.MinCelsius), int64(quantity.MaxCelsius), "°C"
	if fahrenheit {
		least, most, scale = quantity.MinFahrenheit, quantity.MaxFahrenheit, "°F"
	}
	if n < least || n > most {
		return 0, fmt.Sprintf("A temperature here is from %d to %d %s: look at the number and the scale again.", least, most, scale)
	}
	if fahrenheit {
		return quantity.Fahrenheit(n), ""
	}
	return quantity.Celsius(n), ""
}

var (
	decimalNumber = regexp.MustCompile(`^([0-9]{1,6})(?:\.([0-9]{1,3}))?$`)
	fractionInch  = regexp.MustCompile(`^(?:([0-9]{1,5}) )?([0-9]{1,2})/([0-9]{1,2})$`)
)

// readRadius reads the radius of what a chain bears on and gives it in whole
// millimetres, rounded down: a smaller radius is harder on the chain, so this is
// the safe side.
func readRadius(text string, inches bool) (quantity.Length, string) {
	if text == "" {
		return 0, "Type the radius; 0 for a sharp edge."
	}
	var micrometres int64
	if m := decimalNumber.FindStringSubmatch(text); m != nil {
		n, err := strconv.ParseInt(m[1]+(m[2] + "000")[:3], 10, 64)
		if err != nil {
			return 0, "Type the radius in digits."
		}
		micrometres = n // thousandths of a millimetre
		if inches {
			micrometres = n * int64(quantity.Inch) / 1000
		}
	} else if m := fractionInch.FindStringSubmatch(text); m != nil && inches {
		parts := [3]int64{}
		for i, digits := range m[1:] {
			if digits == "" {
				continue
			}
			n, err := strconv.ParseInt(digits, 10, 64)
			if err != nil {
				return 0, "Type the radius in digits."
			}
			parts[i] = n
		}
		if parts[2] == 0 || parts[1] >= parts[2] {
			return 0, "Type inches like 2, 0.5, 1/2 or 1 1/2."
		}
		micrometres = parts[0]*int64(quantity.Inch) + parts[1]*int64(quantity.Inch)/parts[2]
	} else if inches {
		return 0, "Type inches like 2, 0.5, 1/2 or 1 1/2."
	} else {
		return 0, "Type millimetres like 12 or 12.5, with a point."
	}
	const most = 1_000_000 * quantity.Millimetre
	radius := quantity.Length(micrometres) / quantity.Millimetre * quantity.Millimetre
	if radius > most {
		return 0, "This is more than a kilometre: look at the number and the unit again."
	}
	return radius, ""
}
