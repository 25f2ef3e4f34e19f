package web

import (
	"bytes"
	"context"
	"html"
	"image"
	"image/png"
	"strings"
	"testing"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/rating"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/kiosk/counter"
	"cribgate/store"
)

// happens writes bodies on the story of a sling as they are, also such as the
// counter would not let anybody do today.
func (k *kiosk) happens(id event.SlingID, by state.Person, bodies ...event.Body) {
	k.t.Helper()
	for _, body := range bodies {
		act := store.Act{By: by.ID, Station: station, Way: string(counter.Scanner)}
		_, err := k.store.Do(k.t.Context(), act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
			s, err := tx.Sling(ctx, id)
			if err != nil {
				return nil, err
			}
			_, err = tx.Append(ctx, event.Sling(id), s.Heads, body)
			return nil, err
		})
		if err != nil {
			k.t.Fatalf("%s: %v", body.Kind(), err)
		}
	}
}

func day(t testing.TB, text string) quantity.Date {
	t.Helper()
	d, err := quantity.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

// goesOut issues a sling to a rigger for a lift of 4,000 lb, as the gate decides
// it on the day the kiosk has.
func (k *kiosk) goesOut(id event.SlingID, rigger state.Person, back quantity.Date) {
	k.t.Helper()
	s := k.sling(id)
	q := counter.Question(s, event.Policy{MaxMonths: 12, MaxTilt: 5 * quantity.Degree}, day(k.t, "2026-02-20"), &gate.Lift{
		Use: gate.UseOrdinary, Load: 4000 * quantity.Pound, Margin: 10, Hitch: gate.Straight, Legs: s.Details.Sling.Legs,
		Centred: true, ReturnBy: back, Angle: angleFor(s.Details.Sling.Legs)})
	answer, err := gate.Decide(q)
	if err != nil {
		k.t.Fatal(err)
	}
	line, err := q.MarshalJSON()
	if err != nil {
		k.t.Fatal(err)
	}
	said, err := answer.MarshalJSON()
	if err != nil {
		k.t.Fatal(err)
	}
	k.happens(id, k.attendant, event.Issued{Rigger: rigger.ID, ReturnBy: back, Serial: 1,
		Verdict: event.Verdict{Question: string(line), Answer: string(said), Edition: gate.RulesEdition}})
}

func angleFor(legs int) *gate.Angle {
	if legs == 1 {
		return nil
	}
	return &gate.Angle{From: gate.FromHorizontal, Size: 50 * quantity.Degree}
}

// crib is a rack in which a sling stands in every way that it can.
type crib struct {
	good, untagged, out, late, dueOut, held, failed, overdue, lost, retired, bad, metric event.SlingID
}

// filled hangs the slings of a crib. Loads are those of US OSHA, Guidance on Safe
// Sling Use, tables 1 and 2, and of EN 818-4 for the metric one.
func (k *kiosk) filled() crib {
	k.t.Helper()
	at := func(place, inspected string) func(*event.Details) {
		return func(d *event.Details) { d.Place, d.Sling.Inspected = place, day(k.t, inspected) }
	}
	second := k.add("P. Lund", event.Rigger)
	var c crib
	c.good, _ = k.hanging("NS-0290", func(d *event.Details) {
		at("C4", "2025-09-03")(d)
		d.Maker, d.Note = "as stamped: TESTMARK", "New hooks in 2024."
		d.Sling.Plate = plateOf(k.t, "1/2", 2, rating.H60, 20_800)
		d.Sling.Adjustable = true
	})
	c.untagged = k.shelved("NS-0311", at("C5", "2026-01-12"))
	c.out, _ = k.hanging("NS-0342", at("C6", "2025-11-20"))
	k.goesOut(c.out, k.rigger, day(k.t, "2026-03-06"))
	c.late, _ = k.hanging("NS-0388", at("C7", "2025-10-01"))
	k.goesOut(c.late, k.rigger, day(k.t, "2026-02-27"))
	c.dueOut, _ = k.hanging("NS-0390", at("C7", "2025-03-04"))
	k.goesOut(c.dueOut, second, day(k.t, "2026-03-09"))
	c.held, _ = k.hanging("NS-0417", at("C8", "2025-11-10"))
	k.goesOut(c.held, k.rigger, day(k.t, "2026-02-24"))
	k.happens(c.held, k.attendant, event.Returned{From: k.rigger.ID, Said: event.Something, Note: "load caught on the hatch and dropped half a metre"})
	c.failed, _ = k.hanging("NS-0420", at("D1", "2025-11-10"))
	k.happens(c.failed, k.inspector, event.Inspected{Date: day(k.t, "2026-02-26"), Outcome: tagcode.Hold, Service: due.Normal,
		Due: day(k.t, "2027-02-26"), RatingTag: gate.TagLegible, Note: "gouge in leg 2, link 14"})
	c.overdue, _ = k.hanging("NS-0455", at("D2", "2025-02-03"))
	c.lost, _ = k.hanging("NS-0502", at("D3", "2025-08-01"))
	k.goesOut(c.lost, second, day(k.t, "2026-02-25"))
	k.happens(c.lost, k.keeper, event.Lost{Note: "not in the yard, not on the truck"})
	c.retired, _ = k.hanging("NS-0077", at("", "2025-01-15"))
	k.happens(c.retired, k.inspector, event.Retired{Reason: "link worn under its minimum, leg 1", How: "every leg cut twice, pieces in the scrap bin"})
	c.bad = k.shelved("NS-0610", func(d *event.Details) {
		at("D4", "2026-02-02")(d)
		d.Sling.Stamped = []rating.Stamp{{Legs: 2, Basis: rating.H60, Load: 15_000 * quantity.Pound}}
	})
	c.metric, _ = k.hanging("EN-0031", func(d *event.Details) {
		at("E1", "2025-12-01")(d)
		size, err := rating.ParseSize(rating.EN, "10")
		if err != nil {
			k.t.Fatal(err)
		}
		// EN 818-4: 10 mm, grade 8, four legs: 6.7 t up to 45°, 4.75 t up to 60°.
		d.Sling.Plate = rating.Plate{System: rating.EN, Grade: rating.Grade80, Size: size, Legs: 4, Reach: 3 * quantity.Metre,
			Stamped: []rating.Stamp{{Legs: 4, Basis: rating.B45, Load: 6700 * quantity.Kilogram}, {Legs: 4, Basis: rating.B60, Load: 4750 * quantity.Kilogram}}}
	})
	return c
}

// manyShelved registers slings like those of shelved, in one act, each at a place of its
// own where places is given.
func (k *kiosk) manyShelved(idents []string, places ...string) {
	k.t.Helper()
	like := k.sling(k.shelved("LIKE-THIS", nil))
	k.happens(like.ID, k.inspector, event.Retired{Reason: "a pattern only", How: "never was one"})
	like.Details.Sling.State = gate.StateIn
	act := store.Act{By: k.keeper.ID, Station: station, Way: string(counter.Program)}
	_, err := k.store.Do(k.t.Context(), act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		for i, ident := range idents {
			d := like.Details
			d.Ident = ident
			if len(places) > 0 {
				d.Place = places[i]
			}
			if _, err := tx.Append(ctx, event.Sling(event.SlingOf(like.ID.Key, ident)), nil, event.Registered{Details: d}); err != nil {
				return nil, err
			}
		}
		return nil, nil
	})
	if err != nil {
		k.t.Fatal(err)
	}
}

// words are what a page says, without its marks.
func (a answer) words() string {
	return strings.Join(strings.Fields(html.UnescapeString(tagPattern.ReplaceAllString(a.main(), " "))), " ")
}

// blankPNG is a picture without a symbol.
func blankPNG(t testing.TB) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := png.Encode(&out, image.NewGray(image.Rect(0, 0, 200, 200))); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// between is what stands between two marks.
func between(text, from, to string) string {
	_, rest, _ := strings.Cut(text, from)
	part, _, _ := strings.Cut(rest, to)
	return part
}
