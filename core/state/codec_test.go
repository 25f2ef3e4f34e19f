package state

import (
	"bytes"
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
	"cribgate/core/due"
	"cribgate/core/event"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// Whatever a story comes to can be written, and reads back as it was.
func TestSlingRoundTrip(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := FoldSling(id, history(r))
		text, err := s.Encode()
		if err != nil {
			r.Fatal(err)
		}
		back, err := DecodeSling(text)
		if err != nil {
			r.Fatalf("%v\n%s", err, text)
		}
		if len(s.Heads) == 0 {
			s.Heads = nil
		}
		if !reflect.DeepEqual(back, s) {
			r.Fatalf("read %+v\nwant %+v\n%s", back, s, text)
		}
	})
}

func founded() event.Founded {
	return event.Founded{
		Name: "Crib \"A\"", Units: quantity.Imperial, Rules: due.US, Zone: "America/Chicago",
		Policy: event.Policy{MaxMonths: 6, MaxTilt: 5 * quantity.Degree, Prefix: "HTTPS://X/"},
	}
}

func TestPersonAndCribRoundTrip(t *testing.T) {
	moment := time.UnixMilli(1_770_000_000_125).UTC()
	for _, bodies := range [][]event.Body{
		nil, {event.PersonAdded{Name: "A", Roles: event.Rigger}}, {event.PersonAdded{Name: "A", Roles: event.Rigger, Terms: event.Terms{Learner: true}}},
		{event.PersonAdded{Name: "A", Roles: event.Rigger}, event.BadgePrinted{Serial: 3, Key: key, Digest: [32]byte{4}, Until: quantity.DateOf(moment), Stock: "badge"}}, {event.PersonAdded{Name: "Ä\n"}, nil}, {event.PINSet{}},
		{event.PersonAdded{Name: "A", Roles: event.Attendant | event.Keeper}, event.PersonChanged{Name: "B"}},
		{event.PersonAdded{Name: "A", Roles: event.Rigger}, event.PersonChanged{Name: "A"}, event.Erased{What: "name"}},
	} {
		p := FoldPerson(who, story(bodies...))
		text, err := p.Encode()
		if err != nil {
			t.Fatal(err)
		}
		if back, err := DecodePerson(text); err != nil || !reflect.DeepEqual(back, p) {
			t.Errorf("read %+v, want %+v, %v\n%s", back, p, err, text)
		}
	}
	for _, bodies := range [][]event.Body{
		nil, {founded()}, {founded(), nil}, {event.KeyMade{}}, {founded(), event.KeyMade{Fingerprint: key}, event.KeyMade{Fingerprint: tagcode.Fingerprint{2}}},
		{founded(), event.DateConfirmed{Floor: moment, Signed: event.Signed{Keeper: who, Inspector: event.PersonID{7}}}},
		{founded(), event.ClockCorrected{Floor: moment, Signed: event.Signed{Keeper: who, Inspector: who}}},
		{founded(), event.PolicySet{Policy: event.Policy{MaxMonths: 6, Words: event.WordsUK, Cranes: []event.Crane{{Name: "n", Hook: quantity.Metre}}}}},
		{founded(), event.PadPrinted{First: 1, Last: 3}},
		{founded(), event.CountBegun{Count: event.CountID{1}, Places: []string{"B"}}, event.Stray{No: 2, Lies: "cage"}, event.Stray{No: 4}},
		{founded(), event.CountBegun{Count: event.CountID{1}}, event.CountEnded{Count: event.CountID{1}}, event.Stray{No: 2}, event.StraySettled{No: 2}},
	} {
		c := FoldCrib(story(bodies...))
		text, err := c.Encode()
		if err != nil {
			t.Fatal(err)
		}
		if back, err := DecodeCrib(text); err != nil || !reflect.DeepEqual(back, c) {
			t.Errorf("read %+v, want %+v, %v\n%s", back, c, err, text)
		}
	}
}

// full is a state in which every part has something to say.
func full(t testing.TB) Sling {
	t.Helper()
	s := FoldSling(id, story(registered(printed(1), event.TagConfirmed{Serial: 1}, printed(2), event.Issued{Rigger: who, Serial: 1, Marked: "m"}, nil)...))
	s.Hold = Hold{Reason: "r", By: who, Since: s.Changed}
	s.End = End{Reason: "r", How: "h", By: who, Day: s.Loan.Day}
	s.PassedBy = who
	s.Loan.Line, s.Loan.Area = event.Line{Loan: event.LoanID{3}, Lift: 1}, "mill"
	s.Loan.Recall = Recall{Reason: "r", By: s.Loan.Day, Day: s.Loan.Day}
	s.Owes, s.Doubled = []Owed{{Rigger: who, Day: s.Loan.Day}, {Rigger: event.PersonID{2}, Day: s.Loan.Day}}, s.Loan.Day
	s.Failed, s.Mended = []event.Piece{{}, {Hook: true, Leg: 2}}, Mended{Day: s.Loan.Day, Stamp: "12,300 lb"}
	s.Word = Word{Visit: event.VisitID{5}, Failed: []event.Piece{{Hook: true, Leg: 2}}}
	s.Seen = Sighting{Count: event.CountID{4}, Place: "B", At: s.Changed}
	s.Use = event.Use{Stated: true, Share: 92, Hot: true}
	s.Check = Check{Day: s.Loan.Day, By: who, Worst: event.IsDoubt, Open: []event.Answered{{Question: "legs", Is: event.IsDoubt}}}
	s.Remark = "a nick, blended"
	return s
}

func TestBadStates(t *testing.T) {
	good, err := full(t).Encode()
	if err != nil {
		t.Fatal(err)
	}
	if back, err := DecodeSling(good); err != nil || !reflect.DeepEqual(back, full(t)) {
		t.Fatalf("%+v, %v", back, err)
	}
	for _, c := range []struct{ why, old, with string }{
		{"a space", `{"id":`, `{"id": `},
		{"another order", `"issues":1,`, ``},
		{"a name more", `"issues":1`, `"issues":1,"more":1`},
		{"no sling's id", id.String(), "c0ffee01"},
		{"no person's id", `"passed_by":"01`, `"passed_by":"0`},
		{"a number as text", `"issues":1`, `"issues":"1"`},
		{"issues below zero", `"issues":1`, `"issues":-1`},
		{"a status that is none", `"status":"live"`, `"status":"gone"`},
		{"no status", `"status":"live"`, `"status":""`},
		{"a doubt that is none", `"not-understood"`, `"tired"`},
		{"a doubt twice", `"not-understood"`, `"not-understood","not-understood"`},
		{"an answer that is none", `"is":"doubt"`, `"is":"fine"`},
		{"a share below zero", `"share_pct":92`, `"share_pct":-1`},
		{"a day that does not exist", `"day":"2026-03-02"`, `"day":"2026-02-30"`},
		{"a time with another zone", `T12:00:00.000Z`, `T12:00:00.000+01:00`},
		{"a time with another spelling", `T12:00:00.000Z`, `T12:00:00Z`},
		{"half a hash", `"heads":["`, `"heads":["00`},
		{"legs as words", `"legs":2`, `"legs":"two"`},
		{"a tag without what was printed", `"printed":{`, `"painted":{`},
	} {
		text := strings.Replace(string(good), c.old, c.with, 1)
		if text == string(good) {
			t.Errorf("%s: the case changes nothing in\n%s", c.why, good)
		}
		if s, err := DecodeSling([]byte(text)); !errors.Is(err, ErrState) || !reflect.DeepEqual(s, Sling{}) {
			t.Errorf("%s: %+v, %v", c.why, s, err)
		}
	}
	for _, text := range []string{"", "{}", "null", "[]", "x"} {
		if _, err := DecodeSling([]byte(text)); !errors.Is(err, ErrState) {
			t.Errorf("sling %q: %v", text, err)
		}
		if _, err := DecodePerson([]byte(text)); !errors.Is(err, ErrState) {
			t.Errorf("person %q: %v", text, err)
		}
		if _, err := DecodeCrib([]byte(text)); !errors.Is(err, ErrState) {
			t.Errorf("crib %q: %v", text, err)
		}
	}
}

// FuzzSling: what reads is written back as the same bytes.
func FuzzSling(f *testing.F) {
	seeds := 0
	for _, bodies := range [][]event.Body{
		nil, registered(), {event.Registered{Details: held()}}, registered(printed(1), event.TagConfirmed{Serial: 1}),
		registered(event.Issued{Rigger: who, Serial: 1}), registered(event.Retired{Reason: "r"}), registered(nil, event.PINSet{}),
	} {
		text, err := FoldSling(id, story(bodies...)).Encode()
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
		seeds++
	}
	if seeds != 7 {
		f.Fatalf("%d seeds, want 7", seeds)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		bounded.Run(t, time.Now, 8<<20, func() {
			s, err := DecodeSling(text)
			if err != nil {
				if !errors.Is(err, ErrState) || !reflect.DeepEqual(s, Sling{}) {
					t.Fatalf("%+v, %v", s, err)
				}
				return
			}
			if again, err := s.Encode(); err != nil || !bytes.Equal(again, text) {
				t.Fatalf("read %q, written %q, %v", text, again, err)
			}
		})
	})
}
