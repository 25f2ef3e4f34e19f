package web

import (
	"slices"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
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

// tagOn holds what the tag on a sling says against the record, as the counter does
// when the tag is read.
func tagOn(s state.Sling, p event.Policy) tagWorth {
	live, ok := s.Live()
	if !ok {
		return tagNone
	}
	says := live.Says
	want, err := s.Tag(live.Key, live.Serial)
	switch {
	case err != nil || want.Facts != says.Facts:
		return tagOtherwise
	case want.Outcome == tagcode.Fit && (says.Outcome == tagcode.Hold || says.Outcome == tagcode.Out):
		return tagOldDates // it says on its face that the sling is not for use
	case !p.OldTagGoes && (want.Inspected != says.Inspected || want.Due != says.Due):
		return tagOldDates
	}
	return 0
}

// tagRows are the sling's tags, the newest first.
func tagRows(st stand, w words) []TagRow {
	s := st.sling
	var rows []TagRow
	for _, t := range slices.Backward(s.Tags) {
		rows = append(rows, TagRow{
			Serial: itoa(int(t.Serial)), Code: shortCode(s, t), Status: tagStatus(s, t, st.today, w), Sub: printedWords(t, w), Live: t.Status == state.TagLive,
		})
	}
	return rows
}

// printedWords says when a tag was printed, on what, and by whom.
func printedWords(t state.Tag, w words) string {
	text := "printed " + t.Printed.Long() + " on " + t.Stock
	if !t.By.IsZero() {
		text += " by " + w.name(t.By)
	}
	return text
}

// tagStatus says what a tag is good for.
func tagStatus(s state.Sling, t state.Tag, today quantity.Date, w words) string {
	lapses := t.Printed.AddDays(state.LapseDays)
	switch {
	case t.Status == state.TagSpoiled:
		return spoiledWords(t.Spoiled, w)
	case s.Details.Sling.State == gate.StateRetired:
		return w.say("dead: the sling is retired")
	case t.Status == state.TagLive && !s.Agrees(t):
		return "on the sling" + gradedWords(t) + "; the record has changed since it was printed"
	case t.Status == state.TagLive:
		return "on the sling" + gradedWords(t)
	case t.Status == state.TagReplaced:
		return "dead: a newer one was confirmed"
	case t.Lapsed(today):
		return "lapsed on " + lapses.AddDays(1).Long() + ", never confirmed"
	}
	return "not confirmed yet, good until " + lapses.Long()
}

// gradedWords goes on from where a tag hangs; a print without a grade, which most
// have, is no news.
func gradedWords(t state.Tag) string {
	if t.Graded == "" {
		return ""
	}
	return ", its print graded " + t.Graded
}

// spoiltReasons are why a tag is thrown away, in the order in which they are
// offered.
var spoiltReasons = [...]struct {
	why        event.Spoilt
	label, sub string
	words      string // goes on from "thrown away"
}{
	{event.SpoiltPrint, "Bad print", "smeared, pale, cut off", "the print came out badly"},
	{event.SpoiltGrade, "Graded too low", "the picture of it says why", "its print was graded too low"},
	{event.SpoiltPrinter, "Printer stopped", "there is none, or half of one", "the printer stopped"},
	{event.SpoiltBlank, "Bad blank", "damaged, or the wrong one", "the blank was damaged or the wrong one"},
	{event.SpoiltLost, "Mislaid", "nobody knows where it is", "nobody knows where it is"},
	{event.SpoiltOther, "Something else", "write what", "for another reason"},
}

func spoiltWords(why event.Spoilt) string {
	for _, r := range spoiltReasons {
		if r.why == why {
			return r.words
		}
	}
	return string(why)
}

func spoiledWords(s state.Spoiled, w words) string {
	text := "thrown away " + s.Day.Long() + ": " + spoiltWords(s.Why)
	if s.Note != "" {
		text += " (" + s.Note + ")"
	}
	if !s.By.IsZero() {
		text += ", by " + w.name(s.By)
	}
	return text
}

// gradedMore says what a picture of a print came to, when its tag was confirmed.
func gradedMore(g *event.Graded) string {
	if g == nil {
		return "It was scanned, and its print was not graded."
	}
	text := "Its print was graded " + g.Letter + " from a picture"
	for i, p := range g.Parts {
		sep := ", "
		if i == 0 {
			sep = ": "
		}
		text += sep + parameterWords(p.What)
		if p.Letter != "" {
			text += " " + p.Letter
		}
		text += " (" + p.Measured + ")"
	}
	return text + "."
}
