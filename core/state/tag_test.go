package state

import (
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// What becomes of tags, and whether the sling is to get another.
func TestTags(t *testing.T) {
	away := func(n tagcode.Serial) event.Body {
		return event.TagSpoiled{Serial: n, Why: event.SpoiltGrade, Note: "D"}
	}
	on := func(n tagcode.Serial) event.Body { return event.TagConfirmed{Serial: n} }
	moved := details()
	moved.Place = "elsewhere"
	heavier := details()
	heavier.Sling.Stamped[0].Load += quantity.Kilogram
	back := event.Returned{From: who, Said: event.Nothing}
	for _, c := range []struct {
		name     string
		bodies   []event.Body
		statuses []TagStatus
		waits    tagcode.Serial // on the day of the last event; 0 for none
		next     tagcode.Serial
		wants    TagWant
	}{
		{"nothing", nil, nil, 0, 1, 0},
		{"no tag", registered(), nil, 0, 1, WantsFirst},
		{"waiting", registered(printed(1)), []TagStatus{TagPrinted}, 1, 2, 0},
		{"waiting, and inspected since", registered(printed(1), inspected(tagcode.Fit)), []TagStatus{TagPrinted}, 1, 2, 0},
		{"live", registered(printed(1), on(1)), []TagStatus{TagLive}, 0, 2, 0},
		{"thrown away", registered(printed(1), away(1)), []TagStatus{TagSpoiled}, 0, 2, WantsFirst},
		{"the second thrown away", registered(printed(1), printed(2), away(2)), []TagStatus{TagPrinted, TagSpoiled}, 1, 3, 0},
		{"the first thrown away", registered(printed(1), printed(2), away(1)), []TagStatus{TagSpoiled, TagPrinted}, 2, 3, 0},
		{"the next one live", registered(printed(1), away(1), printed(2), on(2)), []TagStatus{TagSpoiled, TagLive}, 0, 3, 0},
		{"thrown away beside a live one", registered(printed(1), on(1), printed(2), away(2)), []TagStatus{TagLive, TagSpoiled}, 0, 3, 0},
		{"confirmed after it was thrown away", registered(printed(1), away(1), on(1)), []TagStatus{TagSpoiled}, 0, 2, 0},

		{"inspected since", registered(printed(1), on(1), inspected(tagcode.Fit)), []TagStatus{TagLive}, 0, 2, WantsNext},
		{"inspected between printing and confirming", registered(printed(1), inspected(tagcode.Fit), on(1)), []TagStatus{TagLive}, 0, 2, WantsNext},
		{"inspected since, the next one waits", registered(printed(1), on(1), inspected(tagcode.Fit), printed(2)), []TagStatus{TagLive, TagPrinted}, 2, 3, 0},
		{"inspected since, the next one thrown away", registered(printed(1), on(1), inspected(tagcode.Fit), printed(2), away(2)), []TagStatus{TagLive, TagSpoiled}, 0, 3, WantsNext},
		{"corrected in what it says", registered(printed(1), on(1), event.Corrected{Details: heavier}), []TagStatus{TagLive}, 0, 2, WantsNext},
		{"corrected in what it does not say", registered(printed(1), on(1), event.Corrected{Details: moved}), []TagStatus{TagLive}, 0, 2, 0},
		{"corrected there and back", registered(printed(1), on(1), event.Corrected{Details: heavier}, event.Corrected{Details: details()}), []TagStatus{TagLive}, 0, 2, 0},
		{"did not pass", registered(printed(1), on(1), inspected(tagcode.Hold)), []TagStatus{TagLive}, 0, 2, 0},
		{"out", registered(event.Issued{Rigger: who, Serial: 1}), nil, 0, 1, WantsFirst},
		{"out and back", registered(event.Issued{Rigger: who, Serial: 1}, back), nil, 0, 1, WantsFirst},
		{"lost", registered(event.Lost{}), nil, 0, 1, 0},
		{"found", registered(event.Lost{}, event.Found{}), nil, 0, 1, WantsFirst},
		{"retired", registered(event.Retired{}), nil, 0, 1, 0},
		{"in doubt", registered(nil), nil, 0, 1, 0},
		{"all used", registered(printed(tagcode.MaxSerial), away(tagcode.MaxSerial)), []TagStatus{TagSpoiled}, 0, 0, 0},
	} {
		list := story(c.bodies...)
		s := FoldSling(id, list)
		var today quantity.Date
		if len(list) > 0 {
			today = list[len(list)-1].Day
		}
		w, _ := s.Waiting(today)
		var statuses []TagStatus
		for _, tag := range s.Tags {
			statuses = append(statuses, tag.Status)
		}
		if w.Serial != c.waits || s.NextSerial() != c.next || s.Wants() != c.wants || len(statuses) != len(c.statuses) {
			t.Errorf("%s: waiting %d, next %d, wants %d, %v; want %d, %d, %d, %v", c.name, w.Serial, s.NextSerial(), s.Wants(), statuses, c.waits, c.next, c.wants, c.statuses)
			continue
		}
		for i := range statuses {
			if statuses[i] != c.statuses[i] {
				t.Errorf("%s: tag %d is %d, want %d", c.name, s.Tags[i].Serial, statuses[i], c.statuses[i])
			}
		}
	}
}

func TestTagFacts(t *testing.T) {
	list := story(registered(printed(1), event.TagSpoiled{Serial: 1, Why: event.SpoiltLost, Note: "n"}, printed(2),
		event.TagConfirmed{Serial: 2, Graded: &event.Graded{Letter: "B"}})...)
	tags := FoldSling(id, list).Tags
	if tags[0].By != who || tags[0].Printed != list[1].Day || tags[0].Graded != "" || tags[0].Spoiled != (Spoiled{Why: event.SpoiltLost, Note: "n", By: who, Day: list[2].Day}) {
		t.Errorf("%+v", tags[0])
	}
	if tags[1].Graded != "B" || tags[1].Spoiled != (Spoiled{}) || tags[1].Says.Inspected != details().Sling.Inspected || tags[1].Says.Outcome != tagcode.Fit {
		t.Errorf("%+v", tags[1])
	}
	// A record that fits no tag, inspected before 2000, makes one that says nothing.
	old := details()
	old.Sling.Inspected, _ = quantity.NewDate(1999, 12, 31)
	old.Sling.Due = quantity.Date{}
	s := FoldSling(id, story(event.Registered{Details: old}, printed(1), event.TagConfirmed{Serial: 1}))
	if s.Tags[0].Says != (Says{}) || s.Agrees(s.Tags[0]) || s.Wants() != WantsNext {
		t.Errorf("%+v", s.Tags[0])
	}
}

// Whatever happens after it was thrown away, a tag stays thrown away, and a live
// one is never thrown away without a contradiction.
func TestSpoiledStays(t *testing.T) {
	thrown := 0
	rapid.Check(t, func(r *rapid.T) {
		bodies := registered()
		for range rapid.IntRange(1, 12).Draw(r, "events") {
			serial := tagcode.Serial(rapid.IntRange(1, 3).Draw(r, "serial"))
			bodies = append(bodies, rapid.SampledFrom([]event.Body{
				printed(serial), event.TagConfirmed{Serial: serial}, event.TagSpoiled{Serial: serial, Why: event.SpoiltPrint}, inspected(tagcode.Fit), event.Retired{},
			}).Draw(r, "body"))
		}
		var s Sling
		for i, e := range story(bodies...) {
			next := s.Apply(e)
			for n, was := range s.Tags { // tags are added at the end only
				is := next.Tags[n]
				if was.Status == TagSpoiled {
					thrown++
					if is.Status != TagSpoiled {
						r.Fatalf("event %d made a tag good that was thrown away: %d", i, is.Status)
					}
				}
				if was.Status == TagLive && is.Status == TagSpoiled && next.Doubt&Contradicts == 0 {
					r.Fatalf("event %d threw the live tag away", i)
				}
			}
			if live, ok := next.Live(); ok && live.Status != TagLive {
				r.Fatalf("live %+v", live)
			}
			if next.Wants() != 0 && next.Details.Sling.State == gate.StateRetired {
				r.Fatalf("event %d: a retired sling wants a tag", i)
			}
			s = next
		}
	})
	if thrown == 0 {
		t.Error("no tag was thrown away; the histories prove nothing")
	}
}
