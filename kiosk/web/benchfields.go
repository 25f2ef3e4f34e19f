package web

import (
	"slices"
	"strings"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/kiosk/counter"
)

// places is at how many places of a leg links and runs are measured (common practice,
// no source): the worst one counts.
const places = 3

// runLinks is over how many links a run is measured unless something else is typed
// (common practice, no source).
const runLinks = 11

// A step of an inspection is what is on one page of it.
type step struct {
	name  string // in addresses: start, leg-1 …, upper, seen, sign
	title string
	leg   int // 0: none
}

// stepsOf are the steps for a sling, in the order in which it is gone through.
func stepsOf(s state.Sling) []step {
	list := []step{{name: "start", title: "Begin"}}
	for leg := 1; leg <= s.Details.Sling.Legs; leg++ {
		list = append(list, step{name: "leg-" + itoa(leg), title: "Leg " + itoa(leg), leg: leg})
	}
	return append(list, step{name: "upper", title: "Upper end"}, step{name: "seen", title: "Seen"}, step{name: "sign", title: "Decide"})
}

// legField names a field of a leg.
func legField(leg int, name string) string { return "l" + itoa(leg) + "-" + name }

// fieldsOf names what a step may send, so that what it does not send is empty. What a
// gauge is asked about has a second field, which says what it is meant as it stands.
func (st step) fieldsOf(s state.Sling) (names []string) {
	gauge := func(name string) { names = append(names, name, "ok-"+name) }
	switch {
	case st.name == "start":
		names = append(names, "date", "regime", "rating-tag", "gauge-1", "calibrated-1", "gauge-2", "calibrated-2", "method-more")
		for _, m := range methods {
			names = append(names, "m-"+m.name)
		}
	case st.leg > 0:
		gauge(legField(st.leg, "links"))
		gauge(legField(st.leg, "reach"))
		names = append(names, legField(st.leg, "n"), legField(st.leg, "latch"), legField(st.leg, "twist"))
		for i := 1; i <= places; i++ {
			k := legField(st.leg, "k"+itoa(i))
			names = append(names, k+"-at")
			gauge(k + "-d1")
			gauge(k + "-d2")
			gauge(legField(st.leg, "r"+itoa(i)))
		}
		gauge(legField(st.leg, "throat"))
		gauge(legField(st.leg, "section"))
		for _, p := range legParts(s, st.leg) {
			gauge(p.name)
		}
	case st.name == "upper":
		for _, p := range sharedParts(s) {
			gauge(p.name)
		}
	case st.name == "seen":
		for _, c := range removal.SeenCodes() {
			names = append(names, "seen-"+c.String())
		}
		names = append(names, "where", "all-seen", "unseen")
	case st.name == "sign":
		names = append(names, "decision", "service", "months", "sooner", "why", "repair", "danger", "tests", "salvage")
	}
	return names
}

// A method is a way of looking that is ticked, and stands in the report in full.
type method struct{ name, says string }

// Cleaning, hanging, rolling and lifting each link from its seat: DOE hoisting and
// rigging standard 11.3.3.2 and common practice.
var methods = []method{
	{"clean", "cleaned first"},
	{"hung", "hung free, and looked at along its length"},
	{"rolled", "rolled by quarters, all four sides seen"},
	{"seats", "each link lifted from its seat, the seat seen"},
	{"side", "legs laid side by side, link against link"},
}

// methodOf puts what was ticked and typed into one text.
func methodOf(f map[string]string) string {
	var list []string
	for _, m := range methods {
		if f["m-"+m.name] != "" {
			list = append(list, m.says)
		}
	}
	if more := f["method-more"]; more != "" {
		list = append(list, more)
	}
	return upperFirst(strings.Join(list, "; "))
}

// A seenGroup is some of the words for what is seen.
type seenGroup struct {
	title string
	codes []removal.Code
}

var seenGroups = []seenGroup{
	{"Chain", []removal.Code{removal.Crack, removal.BentLink, removal.TwistedLink, removal.WornSeat, removal.Nick, removal.Gouge, removal.StiffLink, removal.Pitting}},
	{"Heat and welding", []removal.Code{removal.HeatDamage, removal.WeldSpatter, removal.FieldWeld}},
	{"Fittings", []removal.Code{removal.MasterBent, removal.HookBent, removal.CouplerStiff, removal.WrongGradePart}},
	{"Put together by somebody", []removal.Code{removal.BoltOrWire, removal.HomeShortened, removal.Knot, removal.LegMissing}},
	{"What happened to it", []removal.Code{removal.ShockLoad, removal.Overload}},
}

// linksOf is how many links a leg has: as recorded, else by its reach and the nominal
// pitch; 0 where neither is known. recorded tells which.
func linksOf(s state.Sling, leg int) (n int64, recorded bool) {
	if f := counter.NewOf(s, event.FigureOf{Dimension: event.LinkCount, Leg: leg}); f.Links > 0 {
		return f.Links, true
	}
	if one := removal.NominalRun(s.Details.Sling.Size, 1); one > 0 {
		return int64(s.Details.Sling.Reach / one), false
	}
	return 0, false
}

// wornAt says where a leg was thinnest when it was last measured.
type wornAt struct {
	at   int64 // 0: not known
	d    quantity.Length
	when quantity.Date
}

// linksToMeasure are the places at which links of a leg are measured, counted from
// the ring: beside the ring, in the middle, beside the hook; the nearest of these
// gives way to where it was thinnest last time.
func linksToMeasure(s state.Sling, leg int, last wornAt) [places]int64 {
	n, _ := linksOf(s, leg)
	at := [places]int64{1, max(2, n/2), max(3, n)}
	if last.at == 0 || slices.Contains(at[:], last.at) {
		return at
	}
	nearest := 0
	for i := range at {
		if abs(at[i]-last.at) < abs(at[nearest]-last.at) {
			nearest = i
		}
	}
	at[nearest] = last.at
	return at
}

func abs(n int64) int64 { return max(n, -n) }
