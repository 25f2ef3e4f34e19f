package web

import (
	"slices"
	"strconv"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// A tagWorth says whether the tag on a sling serves at the counter. The zero
// value does.
type tagWorth uint8

const (
	tagNone      tagWorth = iota + 1 // none is confirmed
	tagOldDates                      // it shows an earlier inspection, and the crib's policy keeps it in
	tagOtherwise                     // it says something else than the record
)

// words goes on from where the sling hangs.
func (t tagWorth) words() string {
	switch t {
	case tagNone:
		return ", without a confirmed tag, so no counter can hand it over."
	case tagOldDates:
		return ". Its tag shows the dates from before the last inspection, so the counter keeps it: print the next one."
	case tagOtherwise:
		return ". Its tag says something else than the record, so the counter keeps it: print the next one."
	}
	return "."
}

// tagAtSight goes by the day of printing, which is all that is known without the
// story: a tag that is older than the inspection cannot show it.
func tagAtSight(s state.Sling, p event.Policy) tagWorth {
	live, ok := s.Live()
	switch {
	case !ok:
		return tagNone
	case !p.OldTagGoes && live.Printed.Before(s.Details.Sling.Inspected):
		return tagOldDates
	}
	return 0
}

// tagInStory holds what the tag said when it was printed against the record, as
// the counter does when the tag is read.
func tagInStory(s state.Sling, drawn map[tagcode.Serial]tagcode.Tag, p event.Policy) tagWorth {
	live, ok := s.Live()
	if !ok {
		return tagNone
	}
	says := drawn[live.Serial]
	want, err := s.Tag(live.Key, live.Serial)
	switch {
	case err != nil || want.Facts != says.Facts:
		return tagOtherwise
	case !p.OldTagGoes && (want.Inspected != says.Inspected || want.Due != says.Due):
		return tagOldDates
	}
	return 0
}

// drawnTags gives what each tag said when it was printed.
func drawnTags(story []store.Record) map[tagcode.Serial]tagcode.Tag {
	drawn := map[tagcode.Serial]tagcode.Tag{}
	var s state.Sling
	for _, r := range story {
		s = s.Apply(r.Event())
		if b, ok := r.Body.(event.TagPrinted); ok {
			if says, err := s.Tag(b.Key, b.Serial); err == nil { // else it is known to say nothing
				drawn[b.Serial] = says
			}
		}
	}
	return drawn
}

// tagRows are the sling's tags, the newest first.
func tagRows(st stand, drawn map[tagcode.Serial]tagcode.Tag) []TagRow {
	s := st.sling
	var rows []TagRow
	for _, t := range slices.Backward(s.Tags) {
		row := TagRow{Serial: strconv.Itoa(int(t.Serial)), Code: tagcode.ShortOf(tagcode.NumberOf(t.Key, s.Details.Ident), t.Serial).String(),
			Sub: "printed " + t.Printed.Long() + " on " + t.Stock, Live: t.Status == state.TagLive}
		want, err := s.Tag(t.Key, t.Serial)
		switch lapses := t.Printed.AddDays(state.LapseDays); {
		case s.Details.Sling.State == gate.StateRetired:
			row.Status = "dead: the sling is retired"
		case t.Status == state.TagLive && (err != nil || drawn[t.Serial] != want):
			row.Status = "on the sling; the record has changed since it was printed"
		case t.Status == state.TagLive:
			row.Status = "on the sling"
		case t.Status == state.TagReplaced:
			row.Status = "dead: a newer one was confirmed"
		case t.Lapsed(st.today):
			row.Status = "lapsed on " + lapses.AddDays(1).Long() + ", never confirmed"
		default:
			row.Status = "not confirmed yet, good until " + lapses.Long()
		}
		rows = append(rows, row)
	}
	return rows
}
