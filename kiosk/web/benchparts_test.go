package web

import (
	"net/http"
	"net/http/httptest"
	"net/url"
	"slices"
	"strings"
	"testing"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/state"
)

// Whatever is measured of a sling, and whatever figure of a new part is on record, is of
// a piece that a repairer may have put in anew: else the figure of a part that is gone
// would judge the one in its place.
func TestEveryFigureIsOfAPieceThatCanBePutInAnew(t *testing.T) {
	covered := func(s state.Sling, of event.FigureOf) bool {
		for leg := range s.Details.Sling.Legs + 1 {
			if slices.ContainsFunc(piecesOf(s, leg), func(p event.Piece) bool { return p.Covers(of) }) {
				return true
			}
		}
		return false
	}
	n := 0
	for _, lower := range append(event.LowerFittings(), "") {
		for legs := 1; legs <= 4; legs++ {
			for _, adjustable := range []bool{false, true} {
				var s state.Sling
				s.Details.Fittings.Lower, s.Details.Sling.Legs, s.Details.Sling.Adjustable = lower, legs, adjustable
				for _, fields := range figureFields(s) {
					for _, f := range fields {
						if n++; !covered(s, f.of) {
							t.Errorf("%s, %d legs: %+v can be given and not put in anew", lower, legs, f.of)
						}
					}
				}
				for leg := range legs + 1 {
					for _, p := range piecesOf(s, leg) {
						if back, known := parsePiece(pieceName(p)); !known || back != p || pieceLabel(p) == "" {
							t.Errorf("%+v is sent as %s, and read as %+v", p, pieceName(p), back)
						}
					}
				}
				for _, d := range event.Dimensions() {
					for what := removal.What(0); what <= removal.Adjuster; what++ {
						for leg := range legs + 1 {
							of := event.FigureOf{Dimension: d, What: what, Leg: leg}
							s.New = []state.NewFigure{{Figure: event.Figure{Of: of}}}
							if of.Valid() && !covered(s, of) {
								t.Errorf("%s, %d legs: %+v is on record and cannot be put in anew", lower, legs, of)
							}
						}
					}
				}
			}
		}
	}
	if n < 1000 {
		t.Errorf("%d figures", n)
	}
	for _, none := range []string{"", "1", "1-", "1-cable", "01-hook", "1-hook-", "x-hook", "-hook"} {
		if p, known := parsePiece(none); known {
			t.Errorf("%q is %+v", none, p)
		}
	}
}

// An end ring of a leg that a repairer put in anew is not judged by what the old one
// measured.
func TestAnEndRingIsPutInAnew(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0417", func(d *event.Details) { d.Fittings.Lower = event.EndLink })
	ring := event.FigureOf{Dimension: event.Thickness, What: removal.Ring, Leg: 1}
	k.happens(id, k.inspector, event.FiguresSet{Figures: []event.Figure{{Of: ring, Value: 16 * quantity.Millimetre, Basis: event.FromMaker, Source: "drawing 12"}}})
	k.happens(id, k.inspector, event.Held{Reason: "ring of leg 1"})
	k.happens(id, k.inspector, event.SentOff{To: "the maker", Why: "ring of leg 1"})
	c := k.signedIn(k.inspector)
	page := c.get("/rack/NS-0417/kept")
	if !page.has(`value="1-ring"`) || page.has(`value="0-ring"`) || page.has(`value="1-hook"`) || !page.has(`value="0-coupler"`) {
		t.Errorf("what can be put in anew: %s", page.main())
	}
	if a := c.send(page, "/rack/NS-0417/came-back", url.Values{"certificate": {"R-17"}, "changed": {"3-ring"}}); a.status != http.StatusUnprocessableEntity || !a.has(noPart) {
		t.Errorf("a leg that it has not got: %d %s", a.status, a.words())
	}
	c.send(c.get("/rack/NS-0417/kept"), "/rack/NS-0417/came-back", url.Values{"certificate": {"R-17"}, "changed": {"1-ring"}})
	if s := k.sling(id); len(s.New) != 0 || s.Repair != (state.Repair{}) {
		t.Errorf("%+v", s.New)
	}
}

// What failed is asked for at the bench by name, whatever the make-up of the sling says,
// and until it is measured nobody may sign that the sling is fit.
func TestWhatFailedIsAskedForAtTheBench(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	id := k.shelved("NS-0417", nil)
	k.newParts(id)
	k.happens(id, k.inspector, event.FiguresSet{Figures: []event.Figure{
		{Of: event.FigureOf{Dimension: event.Thickness, What: removal.Coupler, Leg: 1}, Value: 10 * quantity.Millimetre, Basis: event.FromMaker, Source: "drawing 12"},
		{Of: event.FigureOf{Dimension: event.Thickness, What: removal.Adjuster, Leg: 2}, Value: 10 * quantity.Millimetre, Basis: event.FromMaker, Source: "drawing 12"}}})
	c := k.signedIn(k.inspector)
	sign := func(decision string) answer {
		return c.atBench("NS-0417", "sign", "decision", decision, "service", "normal", "why", "looked at", "pin", testPIN)
	}
	c.sound("NS-0417")
	c.atBench("NS-0417", "leg-1", append(soundLeg(1), "l1-coupler", "0.3")...)
	c.atBench("NS-0417", "leg-2", append(soundLeg(2), "l2-adjuster", "0.3")...)
	sign("out")
	if s := k.sling(id); len(s.Failed) != 2 {
		t.Fatalf("%+v", s.Failed)
	}
	c.sound("NS-0417")
	for _, step := range []string{"leg-1", "leg-2"} {
		if a := c.get(benchPath + "/NS-0417?step=" + step); strings.Count(a.main(), "It failed: measure it again.") != 1 {
			t.Errorf("%s does not ask for what failed: %s", step, a.words())
		}
	}
	lacks := "It failed before: measure it again: coupler of leg 1, shortening hook of leg 2"
	if a := c.get(benchPath + "/NS-0417?step=sign"); !a.has(lacks) || a.has(`value="fit"`) {
		t.Errorf("without them: %s", a.main())
	}
	sign("fit")
	if s := k.sling(id); len(s.Failed) != 2 || s.Details.Sling.State != gate.StateHeld {
		t.Fatalf("passed without them: %+v", s.Failed)
	}
	c.atBench("NS-0417", "leg-1", append(soundLeg(1), "l1-coupler", "0.39")...)
	c.atBench("NS-0417", "leg-2", append(soundLeg(2), "l2-adjuster", "0.39")...)
	if a := c.get(benchPath + "/NS-0417?step=sign"); a.has(lacks) {
		t.Errorf("with them: %s", a.main())
	}
	sign("fit")
	if s := k.sling(id); len(s.Failed) != 0 {
		t.Errorf("measured and passed: %+v", s.Failed)
	}
}

// What is named instead is what could be chosen: nothing where the record of the crib is
// in doubt, or where whoever stands here passed the sling.
func TestInsteadIsChoosable(t *testing.T) {
	t.Parallel()
	k := newKiosk(t)
	k.shelved("NS-0001", nil)
	id, _ := k.hanging("NS-0002", nil)
	other := k.sling(id)
	for why, c := range map[string]struct {
		could  bool
		change func(*visit, *state.Sling)
	}{
		"as it hangs":              {true, func(*visit, *state.Sling) {}},
		"the crib is in doubt":     {false, func(v *visit, _ *state.Sling) { v.crib.Doubt = state.Contradicts }},
		"the sling is in doubt":    {false, func(_ *visit, s *state.Sling) { s.Doubt = state.Contradicts }},
		"no tag":                   {false, func(_ *visit, s *state.Sling) { s.Tags = nil }},
		"passed by who is here":    {false, func(v *visit, s *state.Sling) { s.PassedBy = v.who.ID }},
		"kept for somebody else":   {false, func(v *visit, s *state.Sling) { s.Aside = asideFor(v, k.keeper.ID) }},
		"kept for who stands here": {true, func(v *visit, s *state.Sling) { s.Aside = asideFor(v, k.rigger.ID) }},
		"it failed":                {false, func(_ *visit, s *state.Sling) { s.Failed = []event.Piece{{Chain: true, Leg: 1}} }},
	} {
		crib, err := k.store.Crib(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		v := &visit{crib: crib, today: k.today()}
		v.who, v.r = k.attendant, httptest.NewRequest(http.MethodGet, "/", nil)
		var si sight
		si.sling.Details.Sling, si.rigger.ID, si.stated.Shift = other.Details.Sling, k.rigger.ID, true
		now := other
		c.change(v, &now)
		if got := couldGo(v, &turn{}, si, now); got != c.could {
			t.Errorf("%s: %t", why, got)
		}
	}
}

func asideFor(v *visit, rigger event.PersonID) (a state.Aside) {
	a.Lift, a.Rigger, a.Day = event.LiftID{1}, rigger, v.today
	return a
}
