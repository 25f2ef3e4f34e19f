package event

import (
	"slices"

	"cribgate/core/removal"
	"cribgate/core/strict"
)

// A Piece names a part of a sling: the chain of a leg, its hook, or another part. The
// zero Piece is all of it.
type Piece struct {
	Chain bool         // of leg Leg
	Hook  bool         // of leg Leg
	What  removal.What // any other part; of leg Leg, or shared where that is 0
	Leg   int          // 0 to 4
}

// whole reports whether p names no part.
func (p Piece) whole() bool { return !p.Chain && !p.Hook && p.What == 0 }

// Covers reports whether a figure is of the piece.
func (p Piece) Covers(f FigureOf) bool {
	if p.Leg == 0 && f.Dimension == Reach {
		return true // what all legs share is part of the reach of each
	}
	if f.Leg != p.Leg {
		return false
	}
	switch f.Dimension {
	case RunLength, LinkCount:
		return p.Chain
	case Reach:
		return p.Chain || p.Hook || p.What != 0
	case Throat, Section:
		return p.Hook
	}
	return p.What != 0 && f.What == p.What
}

// Has reports whether all of q is in p, where p names parts.
func (p Piece) Has(q Piece) bool {
	return !q.whole() && p.Leg == q.Leg && (p.Chain || !q.Chain) && (p.Hook || !q.Hook) && (q.What == 0 || p.What == q.What)
}

// Failed gives the pieces that findings do not pass, each once. What is of no one part,
// or was not measured, is the whole sling, and so is a sling that was not passed without
// a finding: legs that differ are not mended by a new one alone.
func Failed(findings []removal.Finding) (list []Piece) {
	for _, f := range findings {
		if f.Grade <= removal.Note {
			continue
		}
		p := Piece{Leg: f.Leg}
		switch f.Code {
		case removal.LinkWorn, removal.LinkThin, removal.Longer:
			p.Chain = true
		case removal.ThroatOpen, removal.ThroatUnknown, removal.HookTwisted, removal.HookWorn, removal.HookUnknown, removal.LatchFault:
			p.Hook = true
		case removal.PartWorn, removal.PartUnknown:
			p.What = f.What
		default:
			p = Piece{}
		}
		if !slices.Contains(list, p) {
			list = append(list, p)
		}
	}
	if len(list) == 0 {
		list = []Piece{{}}
	}
	return list
}

// Unmeasured gives those of a list that what was found of a sling says nothing of: of a
// chain it takes a link and a run of its leg, of all of the sling everything that
// [removal.Assess] asks for. It gives the list where q has no answer.
func Unmeasured(list []Piece, q removal.Question) (left []Piece) {
	a, err := removal.Assess(q)
	for _, p := range list {
		if err != nil || !p.measured(q.Found, a) {
			left = append(left, p)
		}
	}
	return left
}

func (p Piece) measured(f removal.Found, a removal.Answer) bool {
	if p.whole() {
		return !slices.ContainsFunc(a.Findings, func(f removal.Finding) bool { return f.Code == removal.NotMeasured })
	}
	link := slices.ContainsFunc(f.Links, func(l removal.Link) bool { return l.Leg == p.Leg })
	run := slices.ContainsFunc(f.Runs, func(r removal.Run) bool { return r.Leg == p.Leg })
	hook := slices.ContainsFunc(f.Hooks, func(h removal.Hook) bool { return h.Leg == p.Leg })
	part := slices.ContainsFunc(f.Parts, func(x removal.Part) bool { return x.Leg == p.Leg && x.What == p.What })
	return (!p.Chain || link && run) && (!p.Hook || hook) && (p.What == 0 || part)
}

// ReadPieces reads the list that WritePieces writes, nil from none.
func ReadPieces(o *strict.Object, name string) (list []Piece) {
	for _, each := range o.OptObjs(name) {
		list = append(list, readPiece(each))
	}
	return list
}

func readPiece(o *strict.Object) Piece {
	p := Piece{Chain: o.Bool("chain"), Hook: o.Bool("hook"), Leg: int(o.Int("leg", 0, 4))}
	if word := o.Str("what"); word != "" {
		var known bool
		if p.What, known = removal.ParseWhat(word); !known {
			o.Fail("what", "not a part")
		}
	}
	if p.whole() && p.Leg != 0 || (p.Chain || p.Hook) && p.Leg == 0 {
		o.Fail("leg", "names no part")
	}
	return p
}

// WritePieces writes the member name, where there are any.
func WritePieces(w *strict.Writer, name string, list []Piece) {
	if len(list) > 0 {
		writePieces(w, name, list)
	}
}

func writePieces(w *strict.Writer, name string, list []Piece) {
	w.List(name)
	for _, p := range list {
		w.Begin()
		w.Bool("chain", p.Chain)
		w.Bool("hook", p.Hook)
		w.Str("what", p.What.String())
		w.Int("leg", int64(p.Leg))
		w.End()
	}
	w.End()
}
