package store_test

import (
	"bytes"
	"context"
	"errors"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
	"cribgate/store"
	"cribgate/store/storetest"
)

var (
	update  = flag.Bool("update", false, "write the dumps of the fixtures, and a fixture of this layout where there is none")
	fixture = flag.String("fixture", "", "with -update: write one more fixture, under a name that begins with the number of the layout")
)

// fixtures are the registers that programs of each layout wrote, oldest first,
// each with the dump of the present that this program makes of it. A register is
// never written again (testdata/SHA256SUMS tells); a dump is, where the present
// is spelled otherwise.
func fixtures(t *testing.T) []string {
	t.Helper()
	list, err := filepath.Glob("testdata/[0-9]*")
	if err != nil || len(list) == 0 {
		t.Fatalf("no fixtures: %v", err)
	}
	return list
}

// Every register that was ever written opens, is whole, and gives the same
// present, as it is and made again from its log.
func TestFixtures(t *testing.T) {
	if *update {
		for _, name := range wanted(t) {
			writeFixture(t, filepath.Join("testdata", name))
		}
	}
	for _, dir := range fixtures(t) {
		file, err := os.ReadFile(filepath.Join(dir, "register.sqlite"))
		if err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), "register.sqlite")
		if err := os.WriteFile(path, file, 0o600); err != nil {
			t.Fatal(err)
		}
		s := storetest.Open(t, path, store.Options{Program: "test"})
		if *update {
			var dump bytes.Buffer
			if err := s.Dump(t.Context(), &dump); err != nil {
				t.Fatal(err)
			}
			if err := os.WriteFile(filepath.Join(dir, "dump.txt"), dump.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		want, err := os.ReadFile(filepath.Join(dir, "dump.txt"))
		if err != nil {
			t.Fatal(err)
		}
		for range 2 {
			var dump bytes.Buffer
			if err := s.Dump(t.Context(), &dump); err != nil {
				t.Fatal(err)
			}
			if !bytes.Equal(dump.Bytes(), want) {
				t.Errorf("%s: the present is\n%s\nwant\n%s", dir, &dump, want)
			}
			if err := s.Rebuild(t.Context()); err != nil {
				t.Fatal(err)
			}
		}
		storetest.Register(t, s, 500) // and it goes on
	}
}

// Of programs that open an older register at once, one brings it to this layout,
// and each finds it whole.
func TestOlderOpenedTwice(t *testing.T) {
	file, err := os.ReadFile(filepath.Join(fixtures(t)[0], "register.sqlite"))
	if err != nil {
		t.Fatal(err)
	}
	want, err := os.ReadFile(filepath.Join(fixtures(t)[0], "dump.txt"))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "register.sqlite")
	if err := os.WriteFile(path, file, 0o600); err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			s, err := store.Open(t.Context(), path, store.Options{Program: "test"})
			if err != nil {
				t.Error(err)
				return
			}
			var dump bytes.Buffer
			if err := errors.Join(s.Dump(t.Context(), &dump), s.Close()); err != nil || !bytes.Equal(dump.Bytes(), want) {
				t.Errorf("%v, the present is\n%s", err, &dump)
			}
		})
	}
	wg.Wait()
}

// writeFixture keeps a register with an event of every kind, which was restored
// once.
func writeFixture(t *testing.T, dir string) {
	t.Helper()
	if err := os.Mkdir(dir, 0o755); err != nil { // one that is there is never written again
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "register.sqlite")
	clock := &storetest.Clock{T: time.Date(2026, 1, 5, 7, 0, 0, 0, time.UTC)}
	options := store.Options{Program: "fixture", Now: clock.Now, Random: rand.NewChaCha8([32]byte{1})}
	founding := storetest.Founding()
	founding.Policy.Words = event.WordsUK
	founding.Policy.Cranes = []event.Crane{{Name: "north", Hook: 60 * quantity.Millimetre}}
	founding.Policy.Employer = event.Employer{Name: "Works"}
	s, keeper, err := store.Init(t.Context(), path, founding, options)
	if err != nil {
		t.Fatal(err)
	}
	if err := storetest.Fill(t.Context(), s, clock, 6, 60); err != nil {
		t.Fatal(err)
	}
	add := func(n int, body event.Body) {
		clock.T = clock.T.Add(time.Hour)
		id := event.SlingOf(storetest.Key, storetest.Sling(n).Ident)
		sling, err := s.Sling(t.Context(), id)
		if errors.Is(err, store.ErrNotFound) {
			sling.ID, err = id, nil
		}
		if err != nil {
			t.Fatal(err)
		}
		act := store.Act{By: keeper, Station: "fixture", Way: "hand", Key: fmt.Sprintf("%s of %d at %s", body.Kind(), n, clock.T)}
		if _, err := append1(t.Context(), s, act, sling, body); err != nil {
			t.Fatal(err)
		}
	}
	verdict := event.Verdict{Question: `{"id":"q"}`, Answer: `{"id":"q"}`, Edition: "1"}
	later := storetest.Sling(1).Sling.Inspected.AddDays(30)
	add(1, event.Issued{Rigger: keeper, ReturnBy: later, Serial: 1, Typed: "001", Marked: "m", Verdict: verdict, Use: event.Use{Stated: true, Share: 92}})
	add(1, event.Returned{From: keeper, Said: event.Something, Note: "a jerk"})
	add(1, event.Inspected{Date: later, Outcome: tagcode.Fit, Service: 1, Due: later.AddMonths(6), RatingTag: 1})
	add(1, event.Released{Reason: "looked at"})
	add(1, printed(1, 2, storetest.Key))
	add(1, event.TagSpoiled{Serial: 2, Why: event.SpoiltGrade, Note: "modulation D"})
	add(1, printed(1, 3, storetest.Key))
	add(1, event.TagConfirmed{Serial: 3, Typed: "001", Graded: &event.Graded{Letter: "B", Parts: []event.GradedPart{{What: "contrast", Letter: "B", Measured: "61 %"}}}})
	add(1, event.TagRead{Serial: 3, Blocks: []event.ReadBlock{{Wrong: 7, Correction: 22}, {Correction: 22}}})
	add(1, printed(1, 4, storetest.Key))
	add(2, event.Refused{Rigger: keeper, Reasons: []string{"overdue"}, Verdict: verdict})
	add(2, event.Held{Reason: "h"})
	corrected := storetest.Sling(3)
	corrected.Place = "C-01"
	add(3, event.Corrected{Details: corrected, Reason: "hangs elsewhere"})
	add(3, event.Issued{Rigger: keeper, Serial: 1, Verdict: verdict})
	add(4, event.Lost{Note: "n"})
	add(4, event.Found{Note: "n"})
	add(5, event.Lost{Note: "n"})
	add(6, event.Retired{Reason: "worn", How: "cut"})
	fitted := storetest.Sling(7)
	fitted.Fittings = event.Fittings{Inside: 90 * quantity.Millimetre, Lower: event.LatchHook}
	paper := event.Late{At: event.LocalTime{Day: later, Minute: 435}, Pad: 1, Row: 4}
	counted := event.CountID{7}
	add(7, event.Registered{Details: fitted})
	fitted.Place = "C-02"
	add(7, event.Corrected{Details: fitted, Reason: "hangs elsewhere"})
	add(7, event.Issued{Rigger: keeper, Serial: 1, Verdict: verdict, Line: event.Line{Loan: event.LoanID{7}, Lift: 1, Share: event.OneHook, Crane: "north", Seats: true}})
	add(7, event.Placed{Area: "mill 2", Note: "n"})
	add(7, event.Recalled{Reason: "due", By: later})
	add(7, event.HandedOn{From: keeper, To: event.PersonID{5}, Note: "n"})
	add(7, event.Returned{From: event.PersonID{5}, Said: event.Nothing, Late: paper, Doubled: true})
	add(7, event.Issued{Rigger: keeper, Serial: 1, Line: event.Line{Loan: event.LoanID{8}}})
	add(7, event.TakenIn{From: keeper})
	add(7, event.Seen{Count: counted, Place: "C"})
	add(8, event.Registered{Details: storetest.Sling(8)})
	add(8, event.Taken{Rigger: keeper, ReturnBy: later, Late: paper, Note: "n", Verdict: verdict})
	add(8, event.TakenIn{From: keeper})
	add(8, event.Checked{Said: event.Nothing, Note: "n"})
	add(8, event.Told{From: keeper, Said: event.NotKnown, Note: "n"})
	looked := []event.Answered{{Question: "rating-tag", Is: event.IsWell}, {Question: "legs", Is: event.IsDoubt}}
	add(7, event.Checked{Said: event.NotKnown, Answers: looked, Photo: event.Photo{7}})
	add(7, event.Released{Reason: "looked at"})
	add(7, event.Issued{Rigger: keeper, Serial: 1, Line: event.Line{Loan: event.LoanID{9}, Lift: 1, Span: 2 * quantity.Metre, Headroom: 3 * quantity.Metre}})
	add(7, event.Returned{From: keeper, Said: event.Nothing, Answers: looked[:1], Owes: true})
	add(7, event.TakenIn{From: event.PersonID{5}})
	add(7, event.Checked{Said: event.Nothing})
	add(7, event.Told{From: keeper, Said: event.Nothing, Answers: []event.Answered{{Question: "happened", Is: event.IsWell}}})
	add(8, event.Moved{Place: "C-03"})
	add(8, event.Impounded{Reason: "the load fell", Second: keeper, Holder: "office", Lies: "locker"})
	add(8, event.Custody{Holder: "laboratory", Lies: "their safe", Note: "for tests"})
	add(4, event.Impounded{Reason: "burnt", Second: keeper, Holder: "office"})
	add(4, event.Freed{Reason: "closed", Second: keeper})
	throat := event.Figure{Of: event.FigureOf{Dimension: event.Throat, Leg: 1}, Value: 28 * quantity.Millimetre, Basis: event.FromMaker, Source: "sheet 4"}
	run := event.Figure{Of: event.FigureOf{Dimension: event.RunLength, Leg: 1}, Value: 330 * quantity.Millimetre, Links: 11, Basis: event.FromRecord}
	add(4, event.FiguresSet{Figures: []event.Figure{throat, run}})
	add(4, event.SentOff{To: "the maker", Why: "hook"})
	add(4, event.CameBack{From: "the maker", Certificate: "C 17", Photo: event.Photo{9}, Changed: []event.Piece{{Hook: true, Leg: 1}}, Stamp: "new", Note: "n"})
	sheet := event.Sheet{
		Verdict: verdict, Legs: []event.LegFound{{Links: 71, Reach: 2 * quantity.Metre}}, Unseen: "n", Method: "m", Instruments: []event.Instrument{{Name: "caliper", Calibrated: later}},
		Regime: event.Circumstance, Decision: event.DecidedShorter, Why: "w", Photos: []event.Photo{{7}}, Used: 420, Qualification: "q", Employer: "e", Address: "a",
	}
	add(4, event.Corrected{Details: storetest.Sling(4), Reason: "by its new stamp", Restamped: true})
	failing := sheet
	failing.Decision, failing.Failed = event.DecidedHold, []event.Piece{{Hook: true, Leg: 1}, {}}
	add(4, event.Inspected{Date: later, Outcome: tagcode.Hold, Service: 1, Months: 3, Due: later.AddMonths(3), RatingTag: 1, Sheet: &failing})
	add(4, event.Inspected{Date: later, Outcome: tagcode.Fit, Service: 1, Months: 3, Due: later.AddMonths(3), RatingTag: 1, Sheet: &sheet})
	add(4, event.FiguresSet{Figures: []event.Figure{throat}})
	add(3, event.Examined{Visit: event.VisitID{7}, Date: later, Due: later.AddMonths(6), RatingTag: 1, Defects: []event.Defect{{What: "latch", By: later.AddDays(20)}, {What: "hook", By: later.AddDays(30)}}, Note: "n"})
	add(3, event.Remedied{No: 1, How: "new latch"})
	made := storetest.Sling(9)
	made.Made = "2019-04"
	add(9, event.Registered{Details: made})
	add(9, event.Corrected{Details: made, Reason: "read again"})
	add(9, event.Retired{Reason: "worn", How: "cut", Witness: "a colleague", Salvage: "the master link", Photo: event.Photo{8}})
	add(3, event.Returned{From: keeper, Said: event.Nothing})
	add(3, event.Issued{Rigger: keeper, Serial: 1, Verdict: verdict, Line: event.Line{Loan: event.LoanID{6}, Lift: 1, Span: quantity.Metre, Headroom: 2 * quantity.Metre}})
	add(3, event.Returned{From: keeper, Said: event.Nothing})
	add(3, event.SetAside{Lift: event.LiftID{7}, Rigger: keeper, Day: later})
	add(3, event.PutBack{Lift: event.LiftID{7}, Why: "w"})
	add(3, event.SetAside{Lift: event.LiftID{8}, Rigger: keeper, Day: later.AddDays(1)})
	crib, err := s.Crib(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	policy := crib.Founded.Policy
	policy.StrictChoke = true
	policy.Employer = event.Employer{Name: "Works", Address: "Quay 3", Premises: "shed 2"}
	both := event.Signed{Keeper: keeper, Inspector: keeper}
	for _, a := range []struct {
		subject event.Subject
		body    event.Body
	}{
		{event.Crib(), event.PolicySet{Policy: policy}}, {event.Person(keeper), event.PINSet{OneTime: true}},
		{event.Person(keeper), event.PersonChanged{Name: "Kay Keeper", Roles: event.Keeper | event.Attendant, Here: true}},
		{event.Person(keeper), event.PersonChanged{Name: "Kay Keeper", Roles: event.Keeper | event.Attendant, Here: true, Terms: event.Terms{Qualified: event.Qualified{As: "q"}}}},
		{event.Crib(), event.VisitBegun{Visit: event.VisitID{7}, Examiner: "X. Aminer", Firm: "f", Qualification: "q", DueBefore: later, Places: []string{"B"}}},
		{event.Crib(), event.VisitEnded{Visit: event.VisitID{7}, Report: "R 9", Pages: []event.Photo{{6}}, Passed: 1, Note: "n"}},
		{event.Crib(), event.VisitBegun{Visit: event.VisitID{8}, Examiner: "X. Aminer"}},
		{event.Crib(), event.DateConfirmed{Floor: clock.T, Signed: both}}, {event.Crib(), event.ClockCorrected{Floor: clock.T, Signed: both}},
		{event.Crib(), event.TagAhead{Key: storetest.Key, Number: 7, Serial: 3, Inspected: later}},
		{event.Crib(), event.PadPrinted{First: 1, Last: 4}},
		{event.Crib(), event.CountBegun{Count: counted, Places: []string{"B", "C"}}}, {event.Crib(), event.CountEnded{Count: counted, Tally: event.Tally{Seen: 1}, Note: "n"}},
		{event.Crib(), event.CountBegun{Count: event.CountID{8}}},
		{event.Crib(), event.Stray{No: 1, Photo: event.Photo{0xAB}, Lies: "cage", Note: "n"}}, {event.Crib(), event.Stray{No: 2, Lies: "cage"}},
		{event.Crib(), event.StraySettled{No: 1, How: "given back"}},
		{event.Person(keeper), event.LiftPlanned{Lift: event.LiftID{7}, Day: later, What: "pump", Stated: storetest.Stated()}},
		{event.Person(keeper), event.LiftGivenUp{Lift: event.LiftID{7}, Day: later, Why: "rain"}},
		{event.Person(keeper), event.LiftPlanned{Lift: event.LiftID{8}, Day: later.AddDays(1), Stated: storetest.Stated()}},
		{event.Person(keeper), event.LiftDrawn{Lift: event.LiftID{8}, Day: later.AddDays(1), Loan: event.LoanID{7}}},
		{event.Person(keeper), event.BadgePrinted{Serial: 1, Key: storetest.Key, Digest: [32]byte{0xAB}, Until: later, Stock: "badge"}},
	} {
		clock.T = clock.T.Add(time.Hour)
		if a.body.Kind() == event.KindClockCorrected {
			clock.T = clock.T.Add(-3 * time.Hour)
		}
		heads := keptHeads(t, s, a.subject)
		if _, err := s.Do(t.Context(), plain, appendAfter(a.subject, heads, a.body)); err != nil {
			t.Fatal(err)
		}
	}
	copied, err := s.Copy(t.Context(), t.TempDir(), store.Copying{})
	if err = errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	path = filepath.Join(t.TempDir(), "restored", "register.sqlite")
	if _, err := store.Restore(t.Context(), copied.Path, path, "the disk failed", options, nil); err != nil {
		t.Fatal(err)
	}
	if s, err = store.Open(t.Context(), path, options); err != nil {
		t.Fatal(err)
	}
	clock.T = clock.T.Add(time.Hour)
	add(2, event.Compared{Serial: 1, Typed: "00002"})
	gone := event.PersonID{1, 2, 3}
	var heads []event.Hash
	for _, body := range []event.Body{
		event.PersonAdded{Name: "G. Gone", Roles: event.Rigger, Terms: event.Terms{ShiftGear: true, Until: later, Qualified: event.Qualified{As: "q", Employer: "e", Address: "a"}}},
		event.PersonChanged{Name: "G. Gone", Roles: event.Rigger, Terms: event.Terms{Learner: true}},
	} {
		clock.T = clock.T.Add(time.Hour)
		if _, err := s.Do(t.Context(), plain, appendAfter(event.Person(gone), heads, body)); err != nil {
			t.Fatal(err)
		}
		heads = keptHeads(t, s, event.Person(gone))
	}
	add(2, event.Held{Reason: "G. Gone dropped it"})
	_, err = s.Do(t.Context(), plain, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.ErasePerson(ctx, gone, "asked for")
		return nil, err
	})
	if err = errors.Join(err, s.Close()); err != nil {
		t.Fatal(err)
	}
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "register.sqlite"), file, 0o600); err != nil {
		t.Fatal(err)
	}
}

func keptHeads(t *testing.T, s *store.Store, subject event.Subject) []event.Hash {
	t.Helper()
	if subject != event.Crib() {
		p, err := s.Person(t.Context(), subject.Person())
		if err != nil {
			t.Fatal(err)
		}
		return p.Heads
	}
	crib, err := s.Crib(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return crib.Heads
}
