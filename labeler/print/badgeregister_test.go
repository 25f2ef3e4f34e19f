package print_test

import (
	"context"
	"errors"
	"path/filepath"
	"slices"
	"testing"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/store"
)

// enters puts a person into the register.
func (s *shop) enters(t *testing.T, name string, roles event.Roles, terms event.Terms) event.PersonID {
	t.Helper()
	id := event.PersonID{byte(len(name)), name[0]}
	s.tells(t, id, nil, event.PersonAdded{Name: name, Roles: roles, Terms: terms})
	return id
}

func (s *shop) tells(t *testing.T, id event.PersonID, seen []event.Hash, body event.Body) {
	t.Helper()
	act := s.act
	act.Key = ""
	if _, err := s.Do(t.Context(), act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.Append(ctx, event.Person(id), seen, body)
		return nil, err
	}); err != nil {
		t.Fatal(err)
	}
}

func (s *shop) person(t *testing.T, id event.PersonID) state.Person {
	t.Helper()
	p, err := s.Person(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// badges prints what is next for these names and gives it.
func (s *shop) badges(t *testing.T, names ...string) ([]print.Badge, error) {
	t.Helper()
	today, err := s.Today(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	badges, err := print.BadgesFromRegister(t.Context(), s.Reader, s.keys, today, names)
	if err != nil {
		return nil, err
	}
	j := print.Job{Stock: stock(t, "badge"), Out: filepath.Join(t.TempDir(), "badges.pdf")}
	act := s.act
	act.Key = ""
	_, err = j.WriteBadges(t.Context(), badges, func() error {
		_, err := s.Do(t.Context(), act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
			return nil, print.RecordBadges(ctx, tx, badges, j.Stock)
		})
		return err
	})
	return badges, err
}

// Badges come of the register, which then knows them: the next of each who is named,
// else of everybody who has none that is good; and the longest list of roles fits.
func TestBadgesFromRegister(t *testing.T) {
	s := open(t, "")
	today, err := s.Today(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	guest := s.enters(t, "Guest", event.Rigger, event.Terms{Until: today})
	s.enters(t, "Everything", event.Attendant|event.Rigger|event.Inspector|event.Keeper, event.Terms{})
	s.enters(t, "Was here", event.Rigger, event.Terms{Until: today.AddDays(-1)})
	first, err := s.badges(t)
	if err != nil {
		t.Fatal(err)
	}
	var titles []string
	for _, b := range first {
		titles = append(titles, b.Title())
	}
	slices.Sort(titles)
	if want := []string{"Everything badge 1", "Guest badge 1", "Keeper badge 1"}; !slices.Equal(titles, want) {
		t.Errorf("printed %q, want %q", titles, want)
	}
	if _, err := s.badges(t); !errors.Is(err, print.ErrNoTags) {
		t.Errorf("everybody has one: %v", err)
	}
	again, err := s.badges(t, "Guest")
	if err != nil || len(again) != 1 {
		t.Fatalf("%d badges, %v", len(again), err)
	}
	p := s.person(t, guest)
	says := tagcode.Badge{Key: s.key.Fingerprint(), Person: tagcode.NumberOf(s.key.Fingerprint(), guest.String()), Serial: 2, Until: today}
	if got := again[0].Sealed; got.Badge != says || p.Badge.Serial != 2 || p.Badge.Digest != tagcode.Digest(got.Text()) || p.Badge.Until != today {
		t.Errorf("the badge says %+v, the register %+v", got.Badge, p.Badge)
	}
	crib, err := s.Crib(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if b, err := print.BadgeAgain(crib, p, s.keys); err != nil || b.Sealed.Text() != again[0].Sealed.Text() {
		t.Errorf("drawn once more: %+v, %v", b, err)
	}
	for _, names := range [][]string{{"Was here"}, {"Nobody"}, {"Guest", "Nobody"}} {
		if _, err := s.badges(t, names...); !errors.Is(err, print.ErrNotHere) {
			t.Errorf("badges of %q: %v", names, err)
		}
	}
	if s.person(t, guest).Badge.Serial != 2 {
		t.Error("a badge was recorded though another could not be printed")
	}
}

// A badge that is not the next one any more is not recorded.
func TestBadgeRecordedOnce(t *testing.T) {
	s := open(t, "")
	id := s.enters(t, "Rigger", event.Rigger, event.Terms{})
	today, err := s.Today(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	drawn, err := print.BadgesFromRegister(t.Context(), s.Reader, s.keys, today, []string{"Rigger"})
	if err != nil {
		t.Fatal(err)
	}
	p := s.person(t, id)
	s.tells(t, id, p.Heads, event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: true, Terms: event.Terms{Until: today}})
	_, err = s.Do(t.Context(), store.Act{By: s.act.By, Station: "test", Way: "program"}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		return nil, print.RecordBadges(ctx, tx, drawn, stock(t, "badge"))
	})
	if !errors.Is(err, print.ErrChanged) {
		t.Errorf("a badge that is good for longer than its person: %v", err)
	}
}
