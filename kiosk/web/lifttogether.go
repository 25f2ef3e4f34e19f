package web

import (
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
)

// mostTogether is the most slings under one beam (site policy, no source).
const mostTogether = 12

// readTogether reads whether several slings share the lift, and how. Where nobody
// said anything, one sling carries it.
func (f liftForm) readTogether(c complaints, s *statedLift) {
	switch f["together"] {
	case "", "one":
	case "one-hook":
		s.Share = event.OneHook
		if s.Lift.Legs < 2 || s.Lift.Hitch == gate.Basket {
			c.add("together", "Singles on one hook are two to four legs, straight or choked: choose how many carry, and how.")
		}
	case "beam":
		s.Share = event.Beam
		s.Slings = readSlings(c, f["slings"])
		var complaint string
		s.Beam, complaint = readBeam(f["beam"], s.Unit)
		c.add("beam", complaint)
		s.Stated = pick(f, c, "parts", "Say whether each sling carries an equal part.", map[string]bool{"equal": false, "stated": true})
	default:
		c.add("together", "This is none of the answers.")
	}
}

func readSlings(c complaints, text string) int {
	n, err := strconv.Atoi(text)
	if err != nil || len(text) > 2 || n < 2 || n > mostTogether {
		c.add("slings", "Type how many slings carry it together: 2 to "+strconv.Itoa(mostTogether)+".")
		return 0
	}
	return n
}

// readBeam reads the mass of a beam, which may be nothing where somebody says so.
func readBeam(text string, unit quantity.Mass) (quantity.Mass, string) {
	switch {
	case text == "":
		return 0, "Type what the beam weighs, with everything that hangs between it and the slings; 0 if there is none."
	case text == "0" || unit == 0:
		return 0, ""
	}
	return readLoad(text, unit)
}

// readEnds reads which crane and what lower fittings the lift is for. Where nobody
// said anything, any will do.
func (f liftForm) readEnds(c complaints, s *statedLift, terms liftTerms) {
	if name := f["crane"]; name != "" {
		s.Crane = name
		known := false
		for _, crane := range terms.cranes {
			known = known || crane.Name == name
		}
		if !known {
			c.add("crane", "This crane is not on the list of the crib. Choose again.")
		}
	}
	if word := f["lower"]; word != "" {
		var known bool
		if s.Lower, known = event.ParseLowerFitting(word); !known {
			c.add("lower", "This is none of the answers.")
		}
	}
}

// together asks whether several slings share the lift, and what it asks of their ends.
func (a asking) together(p *LiftPage, terms liftTerms) {
	p.Together = a.choice("together", "Do several slings carry it together?", "Nothing to press for one sling alone",
		Option{Value: "one", Label: "One sling", Sub: "carries it alone"},
		Option{Value: "one-hook", Label: "Singles on one hook", Sub: "one-leg slings, all alike, as many as legs carry"},
		Option{Value: "beam", Label: "Under a beam", Sub: "each sling carries its part"})
	p.Slings = a.field("slings", "How many slings", "That carry load and beam together", "numeric")
	p.Beam = a.field("beam", "The beam weighs", "In the unit of the load; with all that hangs above the load. It is counted", "decimal")
	p.Parts = a.choice("parts", "What does each sling carry?", "",
		Option{Value: "equal", Label: "An equal part", Sub: "the load hangs in the middle, and all slings are alike; rounded up"},
		Option{Value: "stated", Label: "Its own part", Sub: "asked for each sling when it is scanned"})
	if len(terms.cranes) > 0 {
		options := []Option{{Value: "", Label: "Not said"}}
		for _, c := range terms.cranes {
			o := Option{Value: c.Name, Label: c.Name, Sub: "hook not measured"}
			if c.Hook > 0 {
				o.Sub = "hook " + c.Hook.String() + " thick"
			}
			options = append(options, o)
		}
		p.Crane = a.choice("crane", "On which crane’s hook does it hang?", "The upper link must go over it into the bowl", options...)
	}
	options := []Option{{Value: "", Label: "Any"}}
	for _, l := range event.LowerFittings() {
		name, known := lowerWords(l)
		options = append(options, Option{Value: string(l), Label: name, Sub: known})
	}
	p.EndsOpen = a.form["crane"] != "" || a.form["lower"] != "" || a.wrong["crane"] != "" || a.wrong["lower"] != ""
	p.Lower = a.choice("lower", "What must hang at the lower ends?", "", options...)
}

// sharedFacts say how slings share the lift.
func (s statedLift) sharedFacts(u quantity.Units) []Fact {
	var list []Fact
	switch s.Share {
	case event.OneHook:
		list = append(list, Fact{Label: "Singles on one hook", Value: rating.LegsWords(s.Lift.Legs) + ", all alike"})
	case event.Beam:
		list = append(list, Fact{Label: "The beam weighs", Value: u.Mass(s.Beam), Small: otherMass(u, s.Beam)},
			Fact{Label: "Slings that carry both", Value: strconv.Itoa(s.Slings)})
		if s.Stated {
			return append(list, Fact{Label: "Each carries", Value: "its stated part"})
		}
		equal := s.Equal(u)
		list = append(list, Fact{Label: "Each carries an equal part", Value: u.Mass(equal), Small: otherMass(u, equal)})
	}
	return list
}

// endFacts say what the lift asks of the ends of its slings.
func (s statedLift) endFacts() []Fact {
	var list []Fact
	if s.Crane != "" {
		list = append(list, Fact{Label: "Hangs on the hook of", Value: s.Crane})
	}
	if s.Lower != "" {
		name, _ := lowerWords(s.Lower)
		list = append(list, Fact{Label: "Lower ends", Value: lowerFirst(name)})
	}
	return list
}
