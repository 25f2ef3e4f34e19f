package gate

import "cribgate/core/rating"

// Words says in a few words how the lift hangs: "two legs, straight, 50° from
// horizontal".
func (l Lift) Words() string {
	text := rating.LegsWords(l.Legs) + ", " + l.Hitch.Words()
	if l.Angle != nil {
		text += ", " + l.Angle.Words()
	}
	return text
}

// Words says the hitch as it follows on legs: straight, choked, in a basket.
func (h Hitch) Words() string {
	switch h {
	case Choked:
		return "choked"
	case Basket:
		return "in a basket"
	}
	return "straight"
}

// Words says the angle and from what it is measured.
func (a Angle) Words() string {
	from := map[Reference]string{FromHorizontal: "from horizontal", FromVertical: "from vertical", BetweenLegs: "between the two legs"}
	return a.Size.String() + " " + from[a.From]
}
