package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/removal"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/store"
)

// happens writes bodies on the story of a sling, whatever the counter would say.
func (b *bench) happens(id event.SlingID, bodies ...event.Body) {
	b.t.Helper()
	for _, body := range bodies {
		_, err := b.st.Do(context.Background(), store.Act{By: b.inspector, Station: "bench", Way: "hand"}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
			_, err := tx.Append(ctx, event.Sling(id), b.sling(id).Heads, body)
			return nil, err
		})
		if err != nil {
			b.t.Fatal(err)
		}
	}
}

// anImpounding and aSendingOff are whole ones.
func (b *bench) anImpounding() event.Impounded {
	return event.Impounded{Reason: "the load fell", Second: b.keeper, Holder: "K. Keeper", Lies: "locker 1"}
}

// fit is a thorough inspection of today that passes the sling.
func (b *bench) fit() Inspection {
	return Inspection{Date: date(b.t, "2026-03-02"), Service: due.Normal, RatingTag: gate.TagLegible, Outcome: tagcode.Fit}
}

// TestImpounded: two people impound, nobody releases, sends off or retires, the chain
// of custody is kept, and an inspector and a keeper free it together.
func TestImpounded(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	id, text := b.tagged("NS-0417")
	as := func(p event.PersonID) Who { return b.as(p, "") }
	for _, second := range []event.PersonID{{}, {9}, b.attendant, b.rigger} {
		i := b.anImpounding()
		i.Second = second
		b.refused2(b.Impound(ctx, as(b.attendant), b.seen(id), i))(gate.TwoSign)
	}
	b.refused2(b.Impound(ctx, as(b.rigger), b.seen(id), b.anImpounding()))(gate.RoleNotAllowed)
	if _, err := b.Impound(ctx, as(b.attendant), b.seen(id), event.Impounded{Reason: "x", Second: b.keeper, Holder: "y", Lies: " "}); !errors.Is(err, ErrNeeded) {
		t.Errorf("impounded nowhere: %v", err)
	}
	b.must(b.Impound(ctx, as(b.attendant), b.seen(id), b.anImpounding()))
	b.refused2(b.Impound(ctx, as(b.attendant), b.seen(id), b.anImpounding()))(gate.Impounded)
	b.refused2(b.Release(ctx, as(b.inspector), b.seen(id), "fine"))(gate.Impounded)
	b.refused2(b.Retire(ctx, as(b.inspector), b.seen(id), event.Retired{Reason: "bent", How: "cut"}))(gate.Impounded)
	b.refused2(b.SendOff(ctx, as(b.keeper), b.seen(id), event.SentOff{To: "the maker", Why: "bent"}))(gate.Impounded)
	b.refused2(b.Issue(ctx, as(b.attendant), b.ask(text, 4000)))(gate.Impounded, gate.Held)
	b.refused2(b.Custody(ctx, as(b.attendant), b.seen(id), event.Custody{Holder: "lab", Lies: "bench 2", Note: "to be looked at"}))(gate.RoleNotAllowed)
	b.must(b.Custody(ctx, as(b.keeper), b.seen(id), event.Custody{Holder: "lab", Lies: "bench 2", Note: "to be looked at"}))
	if s := b.sling(id); s.Impound.Holder != "lab" || s.Impound.Lies != "bench 2" || s.Impound.Second != b.keeper || s.Impound.By != b.attendant {
		t.Errorf("in custody: %+v", s.Impound)
	}
	free := func(by, second event.PersonID) (Outcome, error) {
		return b.Free(ctx, as(by), b.seen(id), event.Freed{Reason: "the enquiry is over", Second: second}, "quarantine")
	}
	b.refused2(free(b.attendant, b.keeper))(gate.RoleNotAllowed)
	for _, pair := range [][2]event.PersonID{{b.keeper, b.keeper}, {b.keeper, b.attendant}, {b.inspector, b.inspector}, {b.inspector, b.attendant}} {
		b.refused2(free(pair[0], pair[1]))(gate.TwoSign)
	}
	b.must(free(b.keeper, b.inspector))
	b.refused2(free(b.keeper, b.inspector))(gate.NotNow)
	b.refused2(b.Custody(ctx, as(b.keeper), b.seen(id), event.Custody{Holder: "lab", Lies: "x", Note: "y"}))(gate.NotNow)
	if s := b.sling(id); s.Details.Sling.State != gate.StateHeld || s.Details.Place != "quarantine" || s.Doubt != 0 {
		t.Errorf("freed: %v at %q, doubt %v", s.Details.Sling.State, s.Details.Place, s.Doubt)
	}
	b.must(b.ReleaseTo(ctx, as(b.inspector), b.seen(id), "measured, no growth", "C4"))
	if s := b.sling(id); s.Details.Sling.State != gate.StateIn || s.Details.Place != "C4" {
		t.Errorf("released: %v at %q", s.Details.Sling.State, s.Details.Place)
	}
}

// TestRepaired: what was sent off comes back with what was changed, and goes out
// again only once it was inspected, and corrected where it was stamped anew.
func TestRepaired(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, nil)
	id, text := b.tagged("NS-0417")
	as := func(p event.PersonID) Who { return b.as(p, "") }
	sent := event.SentOff{To: "the maker", Why: "hook of leg 2 is open"}
	b.refused2(b.SendOff(ctx, as(b.keeper), b.seen(id), sent))(gate.NotNow)
	b.must(b.HoldAt(ctx, as(b.attendant), b.seen(id), "hook of leg 2", "quarantine"))
	b.happens(id, event.FiguresSet{Figures: []event.Figure{
		{Of: event.FigureOf{Dimension: event.Throat, Leg: 1}, Value: 30 * quantity.Millimetre, Basis: event.FromMaker, Source: "chart"},
		{Of: event.FigureOf{Dimension: event.Throat, Leg: 2}, Value: 30 * quantity.Millimetre, Basis: event.FromMaker, Source: "chart"},
	}})
	b.must(b.SendOff(ctx, as(b.keeper), b.seen(id), sent))
	b.refused2(b.SendOff(ctx, as(b.keeper), b.seen(id), sent))(gate.AtRepairer)
	b.refused2(b.Release(ctx, as(b.inspector), b.seen(id), "fine"))(gate.AtRepairer)
	b.refused2(b.Issue(ctx, as(b.attendant), b.ask(text, 4000)))(gate.AtRepairer, gate.Held)
	back := event.CameBack{Certificate: "R-17 of 1 March 2026, proof test 24,600 lb", Changed: []event.Piece{{Hook: true, Leg: 2}, {Hook: true, Leg: 2}}, Stamp: "12,300 lb"}
	for _, bad := range []event.Piece{{}, {Hook: true}, {Hook: true, Leg: 3}, {Chain: true, What: removal.Master, Leg: 1}, {What: removal.Master, Leg: 1}} {
		wrong := back
		wrong.Changed = []event.Piece{bad}
		if o, err := b.ComeBack(ctx, as(b.keeper), b.seen(id), wrong, ""); !errors.Is(err, ErrChanged) {
			t.Errorf("%+v: %v %v", bad, o.Codes, err)
		}
	}
	b.must(b.ComeBack(ctx, as(b.keeper), b.seen(id), back, "bench"))
	b.refused2(b.ComeBack(ctx, as(b.keeper), b.seen(id), back, ""))(gate.NotNow)
	s := b.sling(id)
	if len(s.New) != 1 || s.New[0].Of.Leg != 1 || s.Details.Place != "bench" || s.Doubt != 0 {
		t.Errorf("came back: %+v at %q, doubt %v", s.New, s.Details.Place, s.Doubt)
	}
	released := func() (Outcome, error) { return b.Release(ctx, as(b.inspector), b.seen(id), "new hook") }
	b.refused2(released())(gate.RepairUninspected, gate.StampNotRecorded)
	details := s.Details
	details.Outcome = tagcode.Fit // a correction is no inspection
	b.must(b.Correct(ctx, as(b.inspector), b.seen(id), event.Corrected{Details: details, Reason: "hangs elsewhere"}))
	b.refused2(released())(gate.RepairUninspected, gate.StampNotRecorded)
	b.must(b.Correct(ctx, as(b.inspector), b.seen(id), event.Corrected{Details: details, Reason: "new stamp", Restamped: true}))
	b.refused2(released())(gate.RepairUninspected)
	b.must(b.Inspect(ctx, as(b.inspector), b.seen(id), Inspection{Date: date(t, "2026-03-02"), Service: due.Normal, RatingTag: gate.TagLegible, Outcome: tagcode.Hold}))
	b.refused2(released())(gate.RepairUninspected)
	b.must(b.Inspect(ctx, as(b.inspector), b.seen(id), b.fit()))
	b.must(released())
}

// TestDefects: what an examiner found keeps a sling here from the day after it was to
// be put right, and for a lift that would end later; a remedy ends that.
func TestDefects(t *testing.T) {
	today := date(t, "2026-03-02")
	for _, c := range []struct {
		by, back string
		want     []gate.Reason
	}{
		{"", "", []gate.Reason{gate.DefectOpen}}, // dangerous now
		{"2026-03-01", "", []gate.Reason{gate.DefectOpen}},
		{"2026-03-02", "", nil},
		{"2026-03-02", "2026-03-02", nil},
		{"2026-03-02", "2026-03-03", []gate.Reason{gate.DefectBeforeReturn}},
		{"2026-03-03", "2026-03-03", nil},
	} {
		var by, back quantity.Date
		if c.by != "" {
			by = date(t, c.by)
		}
		if c.back != "" {
			back = date(t, c.back)
		}
		s := state.Sling{Defects: []state.OpenDefect{{No: 1, Defect: event.Defect{What: "a nick", By: by}}}}
		if got := Kept(s, today, back); !slices.Equal(got, c.want) {
			t.Errorf("by %q, back %q: %v, want %v", c.by, c.back, got, c.want)
		}
	}
	ctx := context.Background()
	b := newBench(t, func(p *event.Policy) { p.OldTagGoes = true })
	id, text := b.tagged("NS-0417")
	b.happens(id, event.Examined{Date: today, Due: date(t, "2026-09-02"), RatingTag: gate.TagLegible, Defects: []event.Defect{{What: "a nick", By: date(t, "2026-03-03")}}})
	b.refused2(b.Refuse(ctx, b.as(b.attendant, ""), b.ask(text, 4000)))(gate.DefectBeforeReturn)
	for _, codes := range [][]gate.Reason{{gate.RoleNotAllowed}, {gate.NotNow}} {
		by, no := b.attendant, 1
		if codes[0] == gate.NotNow {
			by, no = b.inspector, 2
		}
		b.refused2(b.Remedy(ctx, b.as(by, ""), b.seen(id), event.Remedied{No: no, How: "ground out"}))(codes...)
	}
	b.must(b.Remedy(ctx, b.as(b.inspector, ""), b.seen(id), event.Remedied{No: 1, How: "ground out along the chain"}))
	if s := b.sling(id); len(s.Defects) != 0 || s.Doubt != 0 {
		t.Errorf("%+v, doubt %v", s.Defects, s.Doubt)
	}
}

// TestKeptIsNeverIssued: whatever is done with a sling in whatever order, one that is
// impounded or at a repairer's, or that no inspection has passed since it came back
// from there, is handed to nobody, and no act is recorded that could not happen.
func TestKeptIsNeverIssued(t *testing.T) {
	ctx := context.Background()
	b := newBench(t, func(p *event.Policy) { p.OnePerson, p.OldTagGoes = true, true })
	n, issued, other := 0, 0, b.second()
	rapid.Check(t, func(r *rapid.T) {
		n++
		id, text := b.tagged(fmt.Sprintf("K-%04d", n))
		unseen, stamp := false, false // came back from repair, and not passed, and not corrected by its new stamp, since
		restamped := false            // the last correction was by the stamp
		open := map[int]bool{}        // hooks that were measured to be open, by leg, and neither changed nor measured since
		who := func(p event.PersonID) Who { return b.as(p, "") }
		hooks := func(name string) (legs []int) {
			return []int{1, 2}[:rapid.IntRange(0, 2).Draw(r, name)]
		}
		person := func(name string) event.PersonID {
			return rapid.SampledFrom([]event.PersonID{b.attendant, b.inspector, b.keeper}).Draw(r, name)
		}
		lies := rapid.SampledFrom([]string{"", "C4", "quarantine"})
		acts := map[string]func() (Outcome, error){
			"issue": func() (Outcome, error) { return b.Issue(ctx, who(b.attendant), b.ask(text, 4000)) },
			"return": func() (Outcome, error) {
				return b.Return(ctx, who(b.attendant), Reading{Text: text, Way: Scanner}, Finding{Said: event.Nothing})
			},
			"take in": func() (Outcome, error) { return b.TakeIn(ctx, who(b.attendant), Reading{Text: text, Way: Scanner}) },
			"check": func() (Outcome, error) {
				return b.Check(ctx, who(b.attendant), b.seen(id), Finding{Said: event.Nothing})
			},
			"take": func() (Outcome, error) { return b.Take(ctx, who(b.attendant), b.seen(id), Gone{Rigger: b.rigger}) },
			"hold": func() (Outcome, error) {
				return b.HoldAt(ctx, who(b.attendant), b.seen(id), "bent", lies.Draw(r, "lies"))
			},
			"release": func() (Outcome, error) { return b.Release(ctx, who(b.inspector), b.seen(id), "fine") },
			"lose":    func() (Outcome, error) { return b.Lose(ctx, who(b.attendant), b.seen(id), "") },
			"find":    func() (Outcome, error) { return b.FindAgain(ctx, who(b.attendant), b.seen(id), "") },
			"impound": func() (Outcome, error) {
				i := b.anImpounding()
				i.Second = person("second")
				return b.Impound(ctx, who(person("first")), b.seen(id), i)
			},
			"custody": func() (Outcome, error) {
				return b.Custody(ctx, who(b.keeper), b.seen(id), event.Custody{Holder: "lab", Lies: "bench", Note: "looked at"})
			},
			"free": func() (Outcome, error) {
				return b.Free(ctx, who(person("first")), b.seen(id), event.Freed{Reason: "over", Second: person("second")}, lies.Draw(r, "lies"))
			},
			"send off": func() (Outcome, error) {
				return b.SendOff(ctx, who(b.keeper), b.seen(id), event.SentOff{To: "maker", Why: "hook"})
			},
			"come back": func() (Outcome, error) {
				c := event.CameBack{Certificate: "R-1", Stamp: rapid.SampledFrom([]string{"", "new"}).Draw(r, "stamp")}
				for _, leg := range hooks("changed") {
					c.Changed = append(c.Changed, event.Piece{Hook: true, Leg: leg})
				}
				o, err := b.ComeBack(ctx, who(b.keeper), b.seen(id), c, lies.Draw(r, "lies"))
				for _, p := range c.Changed {
					if o.May {
						delete(open, p.Leg)
					}
				}
				return o, err
			},
			"measure": func() (Outcome, error) {
				if o, err := b.SetFigures(ctx, who(b.inspector), b.seen(id), wholeFigures()); err != nil || !o.May {
					return o, err
				}
				legs := hooks("open")
				o, err := b.Inspect(ctx, who(b.inspector), b.seen(id), b.sheeted(func(i *Inspection) {
					for _, leg := range legs {
						i.Sheet.Found.Hooks[leg-1].Throat, i.Sheet.Decision = 30_000, event.DecidedRepair
					}
				}))
				switch {
				case o.May && len(legs) == 0:
					clear(open)
				case o.May:
					for _, leg := range legs {
						open[leg] = true
					}
				}
				return o, err
			},
			"inspect": func() (Outcome, error) {
				i := b.fit()
				i.Outcome = rapid.SampledFrom([]tagcode.Outcome{tagcode.Fit, tagcode.Hold}).Draw(r, "outcome")
				o, err := b.Inspect(ctx, who(b.inspector), b.seen(id), i)
				if errors.Is(err, ErrUnmeasured) {
					err = nil // nothing was recorded
				}
				return o, err
			},
			"correct": func() (Outcome, error) {
				d := b.sling(id).Details
				d.Outcome = tagcode.Fit
				restamped = rapid.Bool().Draw(r, "restamped")
				return b.Correct(ctx, who(b.inspector), b.seen(id), event.Corrected{Details: d, Reason: "read again", Restamped: restamped})
			},
			"hand on": func() (Outcome, error) {
				return b.HandOn(ctx, who(b.attendant), b.seen(id), Handover{To: other, SameUse: true})
			},
		}
		var names []string
		for name := range acts {
			names = append(names, name)
		}
		slices.Sort(names)
		var steps []string
		if rapid.Bool().Draw(r, "repaired") {
			steps = []string{"measure", "send off", "come back"}
		}
		steps = append(steps, rapid.SliceOfN(rapid.SampledFrom(names), 4, 14).Draw(r, "steps")...)
		for _, name := range append(steps, "inspect", "correct", "release", "issue") { // in the end the way out is tried
			before := b.sling(id)
			o, err := acts[name]()
			if err != nil {
				r.Fatalf("%s: %v", name, err)
			}
			now := b.sling(id)
			if now.Doubt != 0 {
				r.Fatalf("%s: what cannot happen was recorded: doubt %v", name, now.Doubt)
			}
			kept := before.Impound != (state.Impound{}) || before.Repair != (state.Repair{})
			switch {
			case !o.May:
			case name == "issue":
				issued++
				if kept || unseen || stamp || len(open) > 0 {
					r.Fatalf("issued: impounded %+v, at a repairer's %+v, not passed since %t, stamp not recorded %t, hooks open %v", before.Impound, before.Repair, unseen, stamp, open)
				}
			case (name == "release" || name == "hand on") && kept:
				r.Fatalf("%s: impounded %+v, at a repairer's %+v", name, before.Impound, before.Repair)
			case name == "come back":
				unseen, stamp = true, stamp || now.Mended.Stamp != ""
			case name == "correct":
				stamp = stamp && !restamped
			case (name == "inspect" || name == "measure") && now.Details.Outcome == tagcode.Fit:
				unseen = false
			}
		}
	})
	if issued == 0 {
		t.Error("nothing was ever issued: it proves nothing")
	}
}
