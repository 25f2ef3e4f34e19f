package web

import (
	"regexp"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
)

// lowerUnknown is the answer that nobody looked at the lower ends.
const lowerUnknown = "unknown"

// lowerWords name a lower fitting and say how it is known (common practice, no
// source).
func lowerWords(l event.LowerFitting) (name, known string) {
	switch l {
	case event.LatchHook:
		return "Hook with a latch", "a spring closes the throat"
	case event.LockingHook:
		return "Self-locking hook", "closes under load, a trigger opens it"
	case event.FoundryHook:
		return "Foundry hook", "wide throat, no latch"
	case event.GrabHook:
		return "Grab hook", "narrow throat, holds a link"
	case event.Shackle:
		return "Shackle", "a bow and a pin"
	case event.EndLink:
		return "Ring or link", "no hook"
	}
	return "Not recorded", ""
}

// lowerChoice asks what hangs at the lower ends.
func lowerChoice(on, complaint string) Choice {
	c := Choice{Name: "lower", Legend: "What hangs at the lower ends?", Error: complaint}
	for _, l := range event.LowerFittings() {
		name, known := lowerWords(l)
		c.Options = append(c.Options, Option{Value: string(l), Label: name, Sub: known, On: on == string(l)})
	}
	c.Options = append(c.Options, Option{Value: lowerUnknown, Label: "Not looked at", Sub: "it is asked when it goes out", On: on == lowerUnknown})
	return c
}

// readFittings reads what a sling has at its ends.
func readFittings(c complaints, f detailsForm, lead quantity.Units) (fit event.Fittings) {
	switch lower, known := event.ParseLowerFitting(f("lower")); {
	case known:
		fit.Lower = lower
	case f("lower") != lowerUnknown:
		c.add("lower", "Look at the lower ends of the legs and choose.")
	}
	var complaint string
	fit.Inside, complaint = readWidth(f("inside"), lead, false)
	c.add("inside", complaint)
	return fit
}

// insideHint says how the clear width of the upper link is measured.
func insideHint(lead quantity.Units) string {
	return "Across, at its narrowest, where the crane’s hook goes in, " + widthLike(lead) + "; empty if not measured"
}

// The ways in which a width is typed: 90, 90.5 mm; 3 1/2, 47/64 in.
var (
	widthDecimal  = regexp.MustCompile(`^([0-9]{1,4})(?:\.([0-9]{1,3}))? ?(in|mm|")?$`)
	widthFraction = regexp.MustCompile(`^(?:([0-9]{1,3}) )?([0-9]{1,2})/(2|4|8|16|32|64) ?(in|")?$`)
)

// mostWidth is the widest that is taken for a link or a hook: one metre (common
// practice, no source: none is wider), so that a slip of the point is seen.
const mostWidth = quantity.Metre

// readWidth reads the width of a link or of a hook, empty for not measured; without
// a unit it is in the crib's own. Fractions of an inch go to the safe side: an
// opening down, what has to go through it up.
func readWidth(text string, lead quantity.Units, up bool) (l quantity.Length, complaint string) {
	text = straightMarks.Replace(strings.ToLower(strings.Join(strings.Fields(text), " ")))
	if text == "" {
		return 0, ""
	}
	unit := quantity.Millimetre
	if lead == quantity.Imperial {
		unit = quantity.Inch
	}
	own := func(typed string) {
		if typed != "" {
			unit = reachUnits[typed]
		}
	}
	if m := widthDecimal.FindStringSubmatch(text); m != nil {
		own(m[3])
		thousandths := counted(m[1] + (m[2] + "000")[:3])
		l = quantity.Length(thousandths) * (unit / 100) / 10
		if up && quantity.Length(thousandths)*(unit/100)%10 != 0 {
			l++
		}
	} else if m := widthFraction.FindStringSubmatch(text); m != nil {
		above, below := counted(m[2]), counted(m[3])
		if above >= below {
			return 0, widthHelp
		}
		n := 64*counted(m[1]) + above*(64/below)
		if l = quantity.SixtyFourthsDown(n); up {
			l = quantity.SixtyFourthsUp(n)
		}
	} else {
		return 0, widthHelp
	}
	if l < quantity.Millimetre || l > mostWidth {
		return 0, "This is no width that a link or a hook can have: look at the number and the unit again."
	}
	return l, ""
}

// widthLike says how a width is typed.
func widthLike(lead quantity.Units) string {
	if lead == quantity.Imperial {
		return "in inches, like 3 1/2, or with mm behind it"
	}
	return "in millimetres, like 90, or with in behind it"
}

const widthHelp = "Type it in digits, like 90, 90.5 mm or 3 1/2 in, with a point for the fraction."

// counted is the number that digits spell, which an expression has let through.
func counted(digits string) (n int64) {
	for _, d := range digits {
		n = n*10 + int64(d-'0')
	}
	return n
}

// widthText spells a width so that readWidth gives it back exactly.
func widthText(l quantity.Length, up bool) string {
	if l == 0 {
		return ""
	}
	if text := strings.ReplaceAll(l.InInches(), ",", ""); l%quantity.Millimetre != 0 {
		if back, complaint := readWidth(text, quantity.Imperial, up); complaint == "" && back == l {
			return text
		}
	}
	return strings.ReplaceAll(l.String(), ",", "")
}

// width gives a width for people.
func (w words) width(label string, l quantity.Length) Fact {
	if l == 0 {
		return Fact{Label: label, Value: "not measured"}
	}
	if w.lead == quantity.Imperial {
		return Fact{Label: label, Value: l.InInches(), Small: l.String()}
	}
	return Fact{Label: label, Value: l.String(), Small: l.InInches()}
}

// fittingFacts say what a sling has at its ends.
func fittingFacts(f event.Fittings, w words) []Fact {
	name, _ := lowerWords(f.Lower)
	return []Fact{{Label: "Lower fitting", Value: name}, w.width("Inside the upper link, across", f.Inside)}
}
