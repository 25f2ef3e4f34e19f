package counter

import (
	"cribgate/core/event"
	"cribgate/core/gate"
)

// Ends is what a lift asks of the ends of its slings. The zero value asks nothing.
type Ends struct {
	Crane string             // whose hook the upper link goes on; empty: not said
	Lower event.LowerFitting // that is to hang below; zero: any
	Seat  Seat
}

// Seat is what somebody said who looked whether the upper link seats in the bowl
// of the crane's hook. The zero value: nobody was asked.
type Seat uint8

// The answers.
const (
	SeatsWell Seat = iota + 1
	SeatsNot
)

// ends holds the sling's ends against what the lift asks: the hook must go into the
// link with room to spare (common practice, no source). Where one of the two was not
// measured, somebody has to look, and nothing is guessed.
func (o *Outcome) ends(ask Ends, p event.Policy) {
	fit := o.Sling.Details.Fittings
	if wrong := fit.Hangs(ask.Lower); wrong != gate.NotDecided {
		o.Codes = append(o.Codes, wrong)
	}
	if ask.Crane == "" {
		return
	}
	crane := event.Crane{Name: ask.Crane}
	for _, c := range p.Cranes {
		if c.Name == ask.Crane {
			crane = c
		}
	}
	switch seats := fit.Seats(crane); {
	case seats == gate.RingTooSmall, ask.Seat == SeatsNot:
		o.Codes = append(o.Codes, gate.RingTooSmall)
	case seats == gate.SeatUnknown && ask.Seat != SeatsWell && len(o.Codes) == 0:
		o.AskSeat = true
		o.Codes = append(o.Codes, gate.SeatUnknown)
	}
}

// spelled gives the ends in words, for the digest of a request.
func (e Ends) spelled() []string {
	return []string{e.Crane, string(e.Lower), string(rune('0' + e.Seat))}
}
