package counter

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/store"
)

// LateDays is how far back something that was written on paper may lie when it is
// entered (site policy of this program, no source). It is less than the register
// remembers which rows of the pad were entered.
const LateDays = 14

// ErrLate reports a time on paper that cannot be: to come, too long ago, missing
// where a row of the pad is named, or of a sheet that was never printed.
var ErrLate = errors.New("counter: a time on paper lies within the last fortnight, and its sheet was printed here")

// Gone is what is known of a sling that went out without being issued here.
type Gone struct {
	Rigger   event.PersonID // zero: nobody knows who
	ReturnBy quantity.Date
	Late     event.Late
	Note     string // the load and lift as they were written
}

// Take records that a sling is out which nobody issued here. Nothing stands in the
// way, since it has happened; what the gate says of the sling alone is recorded
// beside it, and the keeper sees it.
func (c *Counter) Take(ctx context.Context, who Who, seen Seen, gone Gone) (Outcome, error) {
	gone.Note = strings.TrimSpace(gone.Note)
	request := []string{gone.Rigger.String(), gone.ReturnBy.String(), lateText(gone.Late), gone.Note}
	states := []gate.State{gate.StateIn, gate.StateHeld, gate.StateUnchecked, gate.StateLost}
	return c.onSling(ctx, who.row(gone.Late), "take", seen, atCounter, states, func(tx *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, nil, err
		}
		if err := checkLate(gone.Late, crib.LastPad, tx.Clock()); err != nil {
			return nil, nil, err
		}
		if !gone.Rigger.IsZero() {
			switch _, err := tx.Person(ctx, gone.Rigger); {
			case errors.Is(err, store.ErrNotFound):
				return nil, []gate.Reason{gate.RiggerUnknown}, nil
			case err != nil:
				return nil, nil, err
			}
		}
		var o Outcome
		o.Question = Question(s, crib.Founded.Policy, tx.Today(), nil)
		if o.Answer, err = gate.Decide(o.Question); err != nil {
			return nil, nil, err
		}
		verdict := event.Verdict{Edition: gate.RulesEdition}
		if verdict.Question, verdict.Answer, err = o.lines(); err != nil {
			return nil, nil, err
		}
		return event.Taken{Rigger: gone.Rigger, ReturnBy: gone.ReturnBy, Late: gone.Late, Note: gone.Note, Verdict: verdict}, nil, nil
	}, request...)
}

// Came records that a sling came back earlier, as paper says. Anything but "nothing
// happened" holds it.
func (c *Counter) Came(ctx context.Context, who Who, seen Seen, said event.Said, note string, late event.Late) (Outcome, error) {
	note = strings.TrimSpace(note)
	return c.onSling(ctx, who.row(late), "came", seen, atCounter, []gate.State{gate.StateOut}, func(tx *store.Tx, s state.Sling) (event.Body, []gate.Reason, error) {
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, nil, err
		}
		if err := checkLate(late, crib.LastPad, tx.Clock()); err != nil {
			return nil, nil, err
		}
		return event.Returned{From: s.Loan.Rigger, Said: said, Note: note, Late: late}, nil, nil
	}, string(said), note, lateText(late))
}

// Here takes back a sling that lies on the counter while the record has it out. The
// end of the identification on its plate is needed, since a picture of its tag would
// read as well; the sling is then marked as possibly doubled. Anything but that
// nothing is wrong holds it.
func (c *Counter) Here(ctx context.Context, who Who, reading Reading, f Finding) (Outcome, error) {
	f, err := f.complete("here")
	if err != nil {
		return Outcome{}, err
	}
	act := who.act("here", append([]string{reading.Text, reading.Typed}, f.spelled()...)...)
	return c.do(ctx, act, func(ctx context.Context, tx *store.Tx) (Outcome, error) {
		found, err := c.find(ctx, tx.Reader, reading, tx.Today())
		if err == nil {
			err = c.noteAhead(ctx, tx, found.ahead)
		}
		if err != nil || !found.Known {
			return Outcome{Codes: found.Codes}, err
		}
		o := Outcome{Known: true, Sling: found.Sling}
		if o.Codes, err = allowed(ctx, tx.Reader, who.Person, atCounter, tx.Today()); err != nil {
			return Outcome{}, err
		}
		switch {
		case o.Sling.Details.Sling.State != gate.StateOut:
			o.Codes = append(o.Codes, gate.NotOut)
		case o.Sling.Loan.Recall != (state.Recall{}):
			o.Codes = append(o.Codes, gate.Recalled)
		case strings.TrimSpace(reading.Typed) == "":
			o.Codes, o.AskPlate = append(o.Codes, gate.PlateNeeded), true
		case !PlateMatches(o.Sling.Details.Ident, reading.Typed):
			o.Codes = append(o.Codes, gate.PlateMismatch)
		}
		if len(o.Codes) > 0 {
			return o, nil
		}
		body := f.returned(o.Sling)
		body.Doubled = true
		return c.append(ctx, tx, o, body)
	})
}

// PrintPad gives the numbers of so many sheets that nobody has been given before.
func (c *Counter) PrintPad(ctx context.Context, who Who, sheets int) (event.PadPrinted, error) {
	if sheets < 1 || sheets > MaxSheets {
		return event.PadPrinted{}, fmt.Errorf("counter: print the pad: %d sheets are not 1 to %d", sheets, MaxSheets)
	}
	answer, err := c.store.Do(ctx, who.act("print pad", fmt.Sprint(sheets)), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := mustBe(ctx, tx, who, atCounter); err != nil {
			return nil, err
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		b := event.PadPrinted{First: crib.LastPad + 1, Last: crib.LastPad + sheets}
		if _, err := tx.Append(ctx, event.Crib(), crib.Heads, b); err != nil {
			return nil, err
		}
		return event.Encode(b)
	})
	if err != nil {
		return event.PadPrinted{}, fmt.Errorf("counter: print the pad: %w", err)
	}
	b, err := event.Decode(event.KindPadPrinted, 1, answer)
	if err != nil {
		return event.PadPrinted{}, fmt.Errorf("counter: print the pad: %w", err)
	}
	return b.(event.PadPrinted), nil
}

// MaxSheets is how many sheets of the pad are printed at once at the most.
const MaxSheets = 20

// row gives an act the key of its row on the pad, so that no row is entered twice. A
// row that was refused was not entered: the refusal leaves no trace.
func (w Who) row(late event.Late) Who {
	if late.Pad != 0 {
		w.Key, w.onPaper = fmt.Sprintf("pad %d row %d", late.Pad, late.Row), true
	}
	return w
}

// rowStays undoes an act whose row was refused.
type rowStays struct{ Outcome }

func (r *rowStays) Error() string { return "counter: the row was not entered" }

func lateText(l event.Late) string { return fmt.Sprintf("%s %d %d", l.At, l.Pad, l.Row) }

// checkLate holds what stands on paper against the clock and the sheets printed.
func checkLate(l event.Late, lastPad int, clock store.Clock) error {
	if l.Pad > lastPad || l.Pad != 0 && l.At == (event.LocalTime{}) {
		return ErrLate
	}
	if l.At == (event.LocalTime{}) {
		return nil
	}
	wall := event.LocalTimeOf(clock.Local(clock.Stamp()))
	if l.At.After(wall) || l.At.Day.Before(wall.Day.AddDays(-LateDays)) {
		return ErrLate
	}
	return nil
}
