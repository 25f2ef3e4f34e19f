package web

import (
	"strconv"

	"cribgate/core/gate"
)

// rigging asks how the sling holds the load.
func (a asking) rigging(p *LiftPage) {
	p.Hitch = DrawnChoice{
		Choice: a.choice("hitch", "How does the sling hold the load?", "",
			Option{Value: "straight", Label: "Straight", Sub: "hooked to the load"},
			Option{Value: "choke", Label: "Choked", Sub: "pulled tight around it"},
			Option{Value: "basket", Label: "Basket", Sub: "under it and up again"}),
		Drawings: []Drawing{drawHitch(gate.Straight), drawHitch(gate.Choked), drawHitch(gate.Basket)},
	}
	p.Legs = DrawnChoice{
		Choice: a.choice("legs", "How many legs carry?", "Several one-leg slings on one hook count together",
			Option{Value: "1", Label: "One"}, Option{Value: "2", Label: "Two"},
			Option{Value: "3", Label: "Three"}, Option{Value: "4", Label: "Four"}),
		Drawings: []Drawing{drawLegs(1), drawLegs(2), drawLegs(3), drawLegs(4)},
	}
	p.Centred = a.choice("centred", "Is the centre of gravity in the middle of the pick points?", "",
		Option{Value: "yes", Label: "Yes, in the middle"},
		Option{Value: "no", Label: "No, or nobody can say", Sub: "the sling then counts for half"})
	p.Bears = a.choice("bears", "What does the chain bear on?", "In a choke or basket it is always the load",
		Option{Value: "nothing", Label: "Nothing", Sub: "only hooks and rings touch the load"},
		Option{Value: "round", Label: "An edge or a round", Sub: "the chain bends over it"})
	p.Radius = a.field("radius", "Radius it bends over", "Half the thickness of a round; the rounding of an edge; 0 if it is sharp", "decimal")
	p.RadiusIn = a.choice("radius-unit", "In", "", Option{Value: "in", Label: "in"}, Option{Value: "mm", Label: "mm"})
	p.Choke = DrawnChoice{
		Choice:   a.choice("choke", "Angle of choke", "Between the chain above the choke and the chain around the load", chokeOptions()...),
		Drawings: []Drawing{drawChoke(135), drawChoke(105), drawChoke(75), drawChoke(45), drawChoke(20)},
	}
}

// angle asks how far the legs lean, by drawings or in degrees.
func (a asking) angle(p *LiftPage) {
	p.Spread = DrawnChoice{
		Choice: a.choice("angle", "How far apart are the pick points?",
			"Against the length of a leg, from the hook to where it meets the load. Not sure? Take the wider.",
			Option{Value: "60", Label: "Up to one leg length", Sub: "60° from horizontal or steeper"},
			Option{Value: "45", Label: "Up to 1.4 leg lengths", Sub: "45° from horizontal or steeper"},
			Option{Value: "30", Label: "Up to 1.7 leg lengths", Sub: "30° from horizontal or steeper"},
			Option{Value: "flat", Label: "Further apart", Sub: "flatter than 30° from horizontal"},
			Option{Value: "degrees", Label: "The degrees are known", Sub: "measured, or from the lift plan"},
			Option{Value: bySpan, Label: "The distance is known", Sub: "each sling’s own length then gives its angle"},
			Option{Value: byPlaces, Label: "Each place is known", Sub: "of every pick point and of the centre of gravity, with heights"}),
		Drawings: []Drawing{drawSpread(1), drawSpread(1.4), drawSpread(1.7), drawSpread(1.9)},
	}
	p.Degrees = a.field("degrees", "Angle in degrees", "Of the flattest leg", "decimal")
	p.From = a.choice("from", "Measured", "",
		Option{Value: "horizontal", Label: "From horizontal"},
		Option{Value: "vertical", Label: "From vertical"},
		Option{Value: "between", Label: "Between the two legs", Sub: "two legs only"})
	a.places(p)
}

// places asks where the picks are, by their distance or each by itself.
func (a asking) places(p *LiftPage) {
	p.LongIn = a.lengthUnit("length-unit", "Lengths in")
	p.Span = a.field("span", "From pick point to pick point", "Of three: all alike. Of four: one side of the rectangle. Straight across, at the points themselves", "text")
	p.Width = a.field("width", "And the other side of the rectangle", "Four pick points that are no rectangle? Say where each one is", "text")
	p.Reach = a.field("reach", "Legs at hand, how long?", "Only to be told at once if they are too short. Empty: any", "text")
	p.Room = a.field("headroom", "Room for the hook over the highest pick point", "Empty where there is room enough", "text")
	p.Hook = a.field("hook", "The hook stands over the highest pick point by", "For legs that can be set: as they are to be set. Empty where nobody knows", "text")
	axes := func(legend, name string, n int) Place {
		x := Place{Legend: legend, N: n}
		for _, axis := range [...][2]string{{"x", "Along"}, {"y", "Across"}, {"z", "Height"}} {
			x.Fields = append(x.Fields, a.field(name+axis[0], axis[1], "", "text"))
		}
		return x
	}
	for n := 1; n <= 4; n++ {
		p.Picks = append(p.Picks, axes("Pick point "+strconv.Itoa(n), "p"+strconv.Itoa(n), n))
	}
	p.CG = axes("Centre of gravity", "c", 0)
}

// rest asks what is special about few lifts, and the day of return.
func (a asking) rest(p *LiftPage, terms liftTerms) {
	p.Special = a.choice("special", "Anything special about this lift?", "",
		Option{Value: "no", Label: "Nothing special", Sub: "no people, no molten metal, no acid, no heat or great cold"},
		Option{Value: "yes", Label: "Something special"})
	p.Use = a.choice("use", "What is lifted?", "", useOptions()...)
	p.Heat = a.choice("heat", "How hot or cold does the chain get?", "",
		Option{Value: "ordinary", Label: "Ordinary", Sub: "as the weather is"},
		Option{Value: "other", Label: "Hot, or in great cold", Sub: "state the temperature"})
	p.Hot = a.field("temperature", "The chain reaches", "The chain itself, not the load", "text")
	p.Scale = a.choice("scale", "In", "", Option{Value: "F", Label: "°F"}, Option{Value: "C", Label: "°C"})
	days := append(nextDays(terms.today), Option{Value: "other", Label: "Another day"})
	if a.form["back"] != "" && a.form["back"] != "other" {
		known := false
		for _, d := range days {
			known = known || d.Value == a.form["back"]
		}
		if !known { // a day that had a button when it was stated
			a.form["day"], a.form["back"] = a.form["back"], "other"
		}
	}
	p.Back = a.choice("back", "When is it needed back?", "", days...)
	p.Day = a.field("day", "Needed back by", "", "")
	p.Day.Type = "date"
}
