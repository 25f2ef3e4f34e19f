package web

import (
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/removal"
	"cribgate/core/state"
)

// The parts of a sling are listed once: what is measured of them at the bench, which
// figures of them are taken when new, and what a repairer may have put in anew.

// part is a part of a sling whose thickness is measured.
type part struct {
	name  string // of its field
	label string
	what  removal.What
	leg   int // 0: shared
	asked bool
}

var partLabels = map[removal.What]string{
	removal.Master: "Master link", removal.Coupling: "Coupling link", removal.Coupler: "Coupler", removal.Pin: "Load pin",
	removal.Ring: "End link or ring", removal.Adjuster: "Shortening hook",
}

// hooked tells whether a leg of a sling ends in a hook, as far as is recorded.
func hooked(s state.Sling, leg int) bool {
	lower := s.Details.Fittings.Lower
	return lower != event.Shackle && lower != event.EndLink || noted(s, event.Piece{Hook: true, Leg: leg})
}

// noted tells whether a piece failed, or figures of it are on record: it is asked about
// whatever the make-up of the sling says.
func noted(s state.Sling, p event.Piece) bool {
	return slices.ContainsFunc(s.Failed, p.Has) ||
		slices.ContainsFunc(s.New, func(n state.NewFigure) bool { return n.Of.Dimension != event.Reach && p.Covers(n.Of) })
}

// legParts are the parts of one leg; asked are those that it has for certain.
func legParts(s state.Sling, leg int) (list []part) {
	lower, adjustable := s.Details.Fittings.Lower, s.Details.Sling.Adjustable
	for _, p := range []struct {
		what      removal.What
		may, asks bool
	}{
		{removal.Coupler, true, false}, {removal.Coupling, true, false}, {removal.Pin, true, lower == event.Shackle},
		{removal.Ring, lower == event.Shackle || lower == event.EndLink, lower == event.EndLink}, {removal.Adjuster, adjustable, adjustable},
	} {
		if p.may || noted(s, event.Piece{What: p.what, Leg: leg}) {
			list = append(list, part{name: legField(leg, p.what.String()), label: partLabels[p.what], what: p.what, leg: leg, asked: p.asks})
		}
	}
	return list
}

// sharedParts are those of the upper end.
func sharedParts(s state.Sling) (list []part) {
	for _, what := range []removal.What{removal.Master, removal.Coupling, removal.Coupler, removal.Pin, removal.Ring, removal.Adjuster} {
		usual := what != removal.Ring && what != removal.Adjuster
		if usual || noted(s, event.Piece{What: what}) {
			list = append(list, part{name: what.String(), label: partLabels[what], what: what, asked: what == removal.Master})
		}
	}
	return list
}

// piecesOf are the pieces of a leg that a repairer may put in anew, with 0 those that
// all legs share.
func piecesOf(s state.Sling, leg int) (list []event.Piece) {
	parts := sharedParts(s)
	if leg > 0 {
		list, parts = append(list, event.Piece{Chain: true, Leg: leg}), legParts(s, leg)
		if hooked(s, leg) {
			list = append(list, event.Piece{Hook: true, Leg: leg})
		}
	}
	for _, p := range parts {
		list = append(list, event.Piece{What: p.what, Leg: p.leg})
	}
	return list
}

// pieceName is how forms name a piece that is one part: "2-hook", "0-master".
func pieceName(p event.Piece) string {
	what := p.What.String()
	switch {
	case p.Chain:
		what = "chain"
	case p.Hook:
		what = "hook"
	}
	return itoa(p.Leg) + "-" + what
}

// parsePiece reads what pieceName writes.
func parsePiece(name string) (p event.Piece, known bool) {
	leg, what, _ := strings.Cut(name, "-")
	n, err := strconv.Atoi(leg)
	p = event.Piece{Chain: what == "chain", Hook: what == "hook", Leg: n}
	p.What, known = removal.ParseWhat(what)
	return p, err == nil && (known || p.Chain || p.Hook) && pieceName(p) == name
}

// pieceLabel names a piece that is one part, without its leg.
func pieceLabel(p event.Piece) string {
	switch {
	case p.Chain:
		return "Chain"
	case p.Hook:
		return "Hook"
	}
	return partLabels[p.What]
}

// pieceWords names pieces: "hook of leg 2"; the whole is none.
func pieceWords(list []event.Piece) (words []string) {
	for _, p := range list {
		of := ""
		if p.Leg > 0 {
			of = " of leg " + itoa(p.Leg)
		}
		for _, each := range []event.Piece{{Chain: p.Chain}, {Hook: p.Hook}, {What: p.What}} {
			if each != (event.Piece{}) {
				words = append(words, lowerFirst(pieceLabel(each))+of)
			}
		}
	}
	return words
}

// changedWords names what was changed: "Hook of leg 2, master link".
func changedWords(list []event.Piece) string {
	words := pieceWords(list)
	if len(words) == 0 {
		return "No part was changed."
	}
	return "Changed: " + strings.Join(words, ", ") + "."
}

// failedSays says what of a sling failed and was not put in anew; nothing of one that
// passed.
func failedSays(s state.Sling) string {
	words := pieceWords(s.Failed)
	switch {
	case len(s.Failed) == 0:
		return ""
	case len(words) == 0:
		return "It was not passed the last time it was measured. It is passed by measuring it again."
	}
	return "Failed when it was measured last, and not put in anew: " + strings.Join(words, ", ") + ". It is passed by measuring it again."
}

// unmeasuredSays says what failed and is not measured on a sheet.
func unmeasuredSays(left []event.Piece) string {
	words := pieceWords(left)
	if len(words) == 0 {
		return "It was not passed before: all of it is measured again"
	}
	return "It failed before: measure it again: " + strings.Join(words, ", ")
}

// failedHint says of a part that failed that it is measured again; nothing of any other.
func failedHint(s state.Sling, p event.Piece) string {
	if !slices.ContainsFunc(s.Failed, p.Has) {
		return ""
	}
	return "It failed: measure it again."
}
