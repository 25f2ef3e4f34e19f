package counter

import (
	"context"
	"crypto/rand"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/core/gate"
	"cribgate/core/quantity"
	"cribgate/core/tagcode"
)

// drawn is a badge and what the register is told of it.
func (b *bench) drawn(says tagcode.Badge, key tagcode.Key) (tagcode.SealedBadge, event.BadgePrinted) {
	b.t.Helper()
	sealed, err := says.Seal(key)
	if err != nil {
		b.t.Fatal(err)
	}
	return sealed, event.BadgePrinted{Serial: says.Serial, Key: says.Key, Digest: tagcode.Digest(sealed.Text()), Until: says.Until, Stock: "badge"}
}

// badge prints the next badge of a person and gives its text.
func (b *bench) badge(id event.PersonID) string {
	b.t.Helper()
	next, ok := b.person(id).NextBadge(b.key.Fingerprint())
	if !ok {
		b.t.Fatal("there is no next badge")
	}
	sealed, printed := b.drawn(next, b.key)
	if err := b.PrintBadge(context.Background(), b.as(b.keeper, ""), id, printed); err != nil {
		b.t.Fatal(err)
	}
	return sealed.Text()
}

// names fails the test where a badge does not name just that person, or is not
// refused for just these reasons.
func (b *bench) names(text string, want event.PersonID, reasons ...gate.Reason) {
	b.t.Helper()
	p, got, err := b.Badge(context.Background(), text)
	if err != nil || p.ID != want || !slices.Equal(got, reasons) {
		b.t.Errorf("the badge names %s, %v, %v; want %s, %v", p.ID, got, err, want, reasons)
	}
}

func TestBadge(t *testing.T) {
	b := newBench(t, nil)
	nobody := event.PersonID{}
	first := b.badge(b.rigger)
	b.names(first, b.rigger)
	second := b.badge(b.rigger)
	b.names(first, nobody, gate.BadgeReplaced)
	b.names(second, b.rigger)

	other, err := tagcode.NewKey(rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	own, finger := b.key, b.key.Fingerprint()
	say := func(key tagcode.Key, person string, serial tagcode.Serial) string {
		sealed, _ := b.drawn(tagcode.Badge{Key: key.Fingerprint(), Person: tagcode.NumberOf(key.Fingerprint(), person), Serial: serial}, key)
		return sealed.Text()
	}
	stranger := event.PersonID{9}
	last := map[byte]string{'A': "B"}[second[len(second)-1]]
	if last == "" {
		last = "A"
	}
	tag, err := tagcode.Tag{Facts: tagcode.Facts{}, Key: finger, Serial: 1}.Seal(b.key)
	if err == nil {
		t.Fatalf("a tag that says nothing is sealed: %s", tag.Text())
	}
	for _, x := range []struct {
		name, text string
		want       gate.Reason
	}{
		{"of another crib", say(other, b.rigger.String(), 1), gate.BadgeNotOurs},
		{"of nobody", say(own, stranger.String(), 1), gate.BadgeUnknown},
		{"of one who never had one", say(own, b.attendant.String(), 1), gate.BadgeNotRecorded},
		{"that the register never printed", say(own, b.rigger.String(), 3), gate.BadgeNotRecorded},
		{"with another end", second[:len(second)-1] + last, gate.BadgeForged},
		{"a web address", "https://badge.example/1", gate.NotABadge},
		{"nothing", "", gate.NotABadge},
	} {
		t.Run(x.name, func(t *testing.T) { b.names(x.text, nobody, x.want) })
	}
}

// A badge is good to the end of its day and of its person's days, and no longer
// than the person is here.
func TestBadgeEnds(t *testing.T) {
	b := newBench(t, nil) // on 2 March 2026
	ctx := context.Background()
	guest, err := b.AddPerson(ctx, b.as(b.keeper, ""), event.PersonAdded{Name: "Guest", Roles: event.Rigger, Terms: event.Terms{Until: date(t, "2026-03-02")}})
	if err != nil {
		t.Fatal(err)
	}
	text := b.badge(guest)
	if sealed, err := tagcode.ParseBadge(text); err != nil || sealed.Until != date(t, "2026-03-02") {
		t.Fatalf("the badge is good until %v, %v", sealed.Until, err)
	}
	b.names(text, guest)
	b.pass(24 * time.Hour)
	b.names(text, event.PersonID{}, gate.BadgeEnded)

	change := func(here bool, until string) {
		t.Helper()
		p := b.person(guest)
		to := event.PersonChanged{Name: p.Name, Roles: p.Roles, Here: here}
		if until != "" {
			to.Terms.Until = date(t, until)
		}
		if err := b.ChangePerson(ctx, b.as(b.keeper, ""), guest, p.Heads, to); err != nil {
			t.Fatal(err)
		}
	}
	change(true, "2026-03-05") // on again; the badge still says the 2nd
	b.names(text, event.PersonID{}, gate.BadgeEnded)
	text = b.badge(guest)
	b.names(text, guest)
	change(true, "2026-03-03") // ends before the badge does
	b.names(text, guest)
	b.pass(24 * time.Hour)
	b.names(text, event.PersonID{}, gate.BadgeEnded)
	change(false, "")
	b.names(text, event.PersonID{}, gate.BadgeUnknown)
}

// The register takes the next badge of somebody who is here, and no other.
func TestPrintBadge(t *testing.T) {
	b := newBench(t, nil)
	ctx := context.Background()
	next, _ := b.person(b.rigger).NextBadge(b.key.Fingerprint())
	_, printed := b.drawn(next, b.key)
	if err := b.PrintBadge(ctx, b.as(b.attendant, ""), b.rigger, printed); !errors.Is(err, ErrNotKeeper) {
		t.Errorf("by an attendant: %v", err)
	}
	for range 2 { // sent twice
		if err := b.PrintBadge(ctx, b.as(b.keeper, "k1"), b.rigger, printed); err != nil {
			t.Fatal(err)
		}
	}
	if got := b.person(b.rigger).Badge; got != printed {
		t.Errorf("the newest badge is %+v", got)
	}
	if err := b.PrintBadge(ctx, b.as(b.keeper, "k2"), b.rigger, printed); !errors.Is(err, ErrBadge) {
		t.Errorf("the same badge again: %v", err)
	}
	printed.Serial, printed.Until = 2, date(t, "2026-12-31")
	if err := b.PrintBadge(ctx, b.as(b.keeper, "k3"), b.rigger, printed); !errors.Is(err, ErrBadge) {
		t.Errorf("good for longer than the person: %v", err)
	}
	p := b.person(b.rigger)
	if err := b.ChangePerson(ctx, b.as(b.keeper, ""), p.ID, p.Heads, event.PersonChanged{Name: p.Name, Roles: p.Roles}); err != nil {
		t.Fatal(err)
	}
	printed.Until = quantity.Date{}
	if err := b.PrintBadge(ctx, b.as(b.keeper, "k4"), b.rigger, printed); !errors.Is(err, ErrBadge) {
		t.Errorf("of somebody who has left: %v", err)
	}
}

// A lost key strands nobody: the newest badge is known by its text.
func TestBadgeWithoutItsKey(t *testing.T) {
	b := newBench(t, nil)
	text := b.badge(b.rigger)
	keyless := New(b.st, noKeys{})
	if p, reasons, err := keyless.Badge(context.Background(), text); err != nil || p.ID != b.rigger || len(reasons) > 0 {
		t.Errorf("%s, %v, %v", p.ID, reasons, err)
	}
	forged := text[:len(text)-1] + map[bool]string{true: "B", false: "A"}[strings.HasSuffix(text, "A")]
	if _, reasons, err := keyless.Badge(context.Background(), forged); err != nil || !slices.Equal(reasons, []gate.Reason{gate.BadgeForged}) {
		t.Errorf("forged: %v, %v", reasons, err)
	}
}

// noKeys is a machine without any key.
type noKeys struct{}

func (noKeys) Current(tagcode.Fingerprint) (tagcode.Key, error) {
	return tagcode.Key{}, errors.New("no key")
}
