package web

import (
	"regexp"
	"strconv"
	"strings"

	"cribgate/core/quantity"
	"cribgate/core/removal"
)

// The ways in which a length is measured and typed: 7.54, 0.297, 19/64, 1 3/16, with
// a unit behind it or without. A comma could be a decimal sign in one country and a
// thousands sign in another, so it is refused and never guessed.
var (
	gaugeDecimal  = regexp.MustCompile(`^([0-9]{0,6})(?:\.([0-9]{1,4}))?$`)
	gaugeFraction = regexp.MustCompile(`^(?:([0-9]{1,4})[ -])?([0-9]{1,2})/([0-9]{1,2})$`)
)

// readGauge reads a length as it was measured, in the unit that is typed behind it or
// else in that of the crib. What is finer than a micrometre is rounded up or down, as
// is worse for the part. The complaint is empty, or one sentence for the field.
func readGauge(text string, unit quantity.Units, up bool) (l quantity.Length, complaint string) {
	text = straightMarks.Replace(strings.ToLower(strings.Join(strings.Fields(text), " ")))
	for _, own := range []struct {
		mark string
		unit quantity.Units
	}{{"mm", quantity.Metric}, {"in", quantity.Imperial}, {`"`, quantity.Imperial}} {
		if rest, ok := strings.CutSuffix(text, own.mark); ok {
			text, unit = strings.TrimSpace(rest), own.unit
			break
		}
	}
	switch {
	case strings.Contains(text, ","):
		return 0, "Type a point for the fraction, not a comma."
	case strings.Count(text, ".") > 1:
		return 0, "There is more than one point in this. Read it again."
	case strings.HasPrefix(text, "-") || strings.HasPrefix(text, "−"):
		return 0, "A length is more than nothing."
	}
	one := quantity.Millimetre
	if unit == quantity.Imperial {
		one = quantity.Inch
	}
	whole, above, below := "", int64(0), int64(1)
	if m := gaugeFraction.FindStringSubmatch(text); m != nil {
		if unit == quantity.Metric {
			return 0, "A fraction is of inches. Type millimetres like 7.54, or put in behind it."
		}
		whole = m[1]
		above, below = digits(m[2]), digits(m[3])
		if below == 0 || below > 64 || below&(below-1) != 0 || above >= below {
			return 0, "No rule has this fraction: halves, fourths, eighths, and so on to 64ths, like 19/64 or 1 3/16."
		}
	} else if m := gaugeDecimal.FindStringSubmatch(text); m != nil && (m[1] != "" || m[2] != "") {
		whole = m[1]
		for range m[2] {
			below *= 10
		}
		above = digits(m[2])
	} else if unit == quantity.Imperial {
		return 0, "Type inches like 0.297, 19/64 or 1 3/16."
	} else {
		return 0, "Type millimetres like 7.54."
	}
	n, d := (digits(whole)*below+above)*int64(one), below
	if up {
		n += d - 1
	}
	l = quantity.Length(n / d)
	if l < removal.MinLength || l > removal.MaxLength {
		return 0, "This is no length of a sling. Read it again."
	}
	return l, ""
}

// digits reads at most six digits, none for 0.
func digits(text string) int64 {
	n, _ := strconv.ParseInt("0"+text, 10, 64) // the patterns let nothing else in
	return n
}

// readCount reads a number of links.
func readCount(text string) (int64, string) {
	n, err := strconv.ParseInt(text, 10, 64)
	if err != nil || n < 1 || n > 10_000 || strings.HasPrefix(text, "+") {
		return 0, "Type how many links, in digits."
	}
	return n, ""
}

// ought is what a length should be near, 0 where nobody knows, and how that is known.
type ought struct {
	is   quantity.Length
	from string
}

// strange asks about a length that is nowhere near what it ought to be: by a slip of
// the point, in the other unit, or read off another part. It is empty where nothing
// is strange. Half of it and one and a half of it are site policy, no source: a part
// that is really so far from new is asked about once.
func strange(l quantity.Length, of ought, unit quantity.Units) string {
	ought := of.is
	if ought == 0 || 2*l >= ought && 2*l <= 3*ought {
		return ""
	}
	near := func(n, d quantity.Length) bool { // n/d of it is within a quarter of what it ought to be
		return 4*l*n >= 3*ought*d && 4*l*n <= 5*ought*d
	}
	says := unit.Measured(l) + " is far from " + unit.Measured(ought) + ", " + of.from + "."
	switch {
	case near(10, 1), near(1, 10), near(100, 1), near(1, 100):
		return says + " Did the point slip?"
	case unit == quantity.Metric && near(quantity.Inch, quantity.Millimetre):
		return says + " Is it in inches? Then type in behind it."
	case unit == quantity.Imperial && near(quantity.Millimetre, quantity.Inch):
		return says + " Is it in millimetres? Then type mm behind it."
	}
	return says + " Is it of this part?"
}
