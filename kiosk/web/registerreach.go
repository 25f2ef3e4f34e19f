package web

import (
	"regexp"
	"strconv"
	"strings"

	"cribgate/core/quantity"
	"cribgate/core/rating"
)

var reachUnits = map[string]quantity.Length{
	"ft": quantity.Foot, "'": quantity.Foot, "in": quantity.Inch, `"`: quantity.Inch, "m": quantity.Metre, "mm": quantity.Millimetre,
}

// The ways in which a reach is stamped or said: 2.4, 2.4 m; 6 1/2, 78 1/2 in; 6 ft
// 6 1/2 in, 6'6". Where a unit stands beside it, that unit counts.
var (
	reachDecimal  = regexp.MustCompile(`^([0-9]{1,6})(?:\.([0-9]{1,3}))? ?(ft|in|mm|m|'|")?$`)
	reachFraction = regexp.MustCompile(`^(?:([0-9]{1,4}) )?([0-9]{1,2})/([0-9]{1,2}) ?(ft|in|'|")?$`)
	reachFeet     = regexp.MustCompile(`^([0-9]{1,4}) ?(?:ft|') ?(?:([0-9]{1,2})(?: |$|in|"))?(?:([0-9]{1,2})/([0-9]{1,2}))? ?(?:in|")?$`)
	straightMarks = strings.NewReplacer("’", "'", "′", "'", "”", `"`, "″", `"`, "''", `"`)
)

const reachHelp = "Type it in digits, like 6, 2.4, 6 1/2 or 6 ft 6 in, with a point for the fraction."

// readReach reads the reach and gives it to the nearest millimetre, which is the
// finest that is recorded; empty is not known.
func readReach(c complaints, text, unit string) quantity.Length {
	if text == "" {
		return 0
	}
	size, known := reachUnits[unit]
	if !known {
		c.add("reach", "Choose the unit of the reach.")
		return 0
	}
	l, ok := readLong(text, size)
	if !ok {
		c.add("reach", reachHelp)
		return 0
	}
	l = (l + quantity.Millimetre/2) / quantity.Millimetre * quantity.Millimetre
	if l < quantity.Millimetre || l > rating.MaxReach {
		c.add("reach", "This is no length that a sling can have: look at the number and the unit again.")
		return 0
	}
	return l
}

// readLong reads a length as people say it, to the micrometre. Where no unit stands
// beside it, it is in size.
func readLong(text string, size quantity.Length) (l quantity.Length, ok bool) {
	text = straightMarks.Replace(strings.ToLower(strings.Join(strings.Fields(text), " ")))
	own := func(unit string) quantity.Length {
		if unit != "" {
			return reachUnits[unit]
		}
		return size
	}
	if m := reachDecimal.FindStringSubmatch(text); m != nil {
		return fractionOf(own(m[3]), m[1]+(m[2] + "000")[:3], "1000")
	}
	if m := reachFraction.FindStringSubmatch(text); m != nil {
		whole, _ := fractionOf(own(m[4]), m[1], "1")
		l, ok = fractionOf(own(m[4]), m[2], m[3])
		return l + whole, ok && l < own(m[4])
	}
	if m := reachFeet.FindStringSubmatch(text); m != nil && (m[2] != "" || m[3] != "") {
		feet, _ := fractionOf(quantity.Foot, m[1], "1")
		inches, _ := fractionOf(quantity.Inch, m[2], "1")
		l, ok = fractionOf(quantity.Inch, m[3], m[4])
		return l + feet + inches, ok && l < quantity.Inch && inches < quantity.Foot
	}
	return 0, false
}

// fractionOf is that fraction of a length; nothing of it where no number was
// typed. ok is false for no fraction at all, such as 3/0.
func fractionOf(l quantity.Length, above, below string) (part quantity.Length, ok bool) {
	if above == "" {
		return 0, true
	}
	n, err := strconv.ParseInt(above, 10, 64) // at most nine digits
	if err != nil {
		return 0, false
	}
	d, err := strconv.ParseInt(below, 10, 64)
	if err != nil || d == 0 {
		return 0, false
	}
	return quantity.Length(n) * l / quantity.Length(d), true
}
