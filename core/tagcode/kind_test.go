package tagcode

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
	"cribgate/core/quantity"
)

const person = "00112233445566778899aabbccddeeff"

func day(t testing.TB, text string) quantity.Date {
	t.Helper()
	if text == "-" {
		return quantity.Date{}
	}
	d, err := quantity.ParseDate(text)
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func sampleBadge(k Key) Badge {
	return Badge{Key: k.Fingerprint(), Person: NumberOf(k.Fingerprint(), person), Serial: 2, Until: epoch.AddDays(10_000)}
}

func sampleSlip(k Key) Slip {
	return Slip{Key: k.Fingerprint(), Sling: NumberOf(k.Fingerprint(), "NS-0417"), No: 81, Until: epoch.AddDays(9_700)}
}

// sealed gives the text of one code of each kind.
func sealed(t testing.TB, k Key) map[Kind]string {
	t.Helper()
	tag, err1 := sample(k).Seal(k)
	badge, err2 := sampleBadge(k).Seal(k)
	slip, err3 := sampleSlip(k).Seal(k)
	if err := errors.Join(err1, err2, err3); err != nil {
		t.Fatal(err)
	}
	return map[Kind]string{KindTag: tag.Text(), KindBadge: badge.Text(), KindSlip: slip.Text()}
}

// TestEachReaderTakesItsKind holds each code against each reader: the others say
// that it is of another kind, and their keys' seals do not pass for each other.
func TestEachReaderTakesItsKind(t *testing.T) {
	readers := map[Kind]func(string) error{
		KindTag:   func(text string) error { _, err := Parse(text); return err },
		KindBadge: func(text string) error { _, err := ParseBadge(text); return err },
		KindSlip:  func(text string) error { _, err := ParseSlip(text); return err },
		KindHead:  func(text string) error { _, err := ParseHead(text); return err },
	}
	all := sealed(t, testKey(t))
	all[KindHead] = headText{sampleHead()}.Text()
	for is, text := range all {
		for asked, read := range readers {
			err := read(text)
			switch {
			case is == asked && err != nil:
				t.Errorf("%s: %v", is, err)
			case is != asked && (!errors.Is(err, ErrOtherKind) || !errors.Is(err, ErrMalformed)):
				t.Errorf("a %s read as a %s: %v", is, asked, err)
			}
		}
	}
}

// TestSealsDoNotCross puts the seal of each kind on the body of each other.
func TestSealsDoNotCross(t *testing.T) {
	k := testKey(t)
	labels := map[Kind]string{KindTag: tagLabel, KindBadge: badgeLabel, KindSlip: slipLabel}
	for is, text := range sealed(t, k) {
		c, err := split(text)
		if err != nil {
			t.Fatal(err)
		}
		for other, label := range labels {
			c.mac = k.mac(c.body[:], label)
			var forged error
			switch is {
			case KindTag:
				s, err := Parse(c.text())
				forged = errors.Join(err, s.Verify(k))
			case KindBadge:
				s, err := ParseBadge(c.text())
				forged = errors.Join(err, s.Verify(k))
			case KindSlip:
				s, err := ParseSlip(c.text())
				forged = errors.Join(err, s.Verify(k))
			}
			if (forged == nil) != (is == other) || forged != nil && !errors.Is(forged, ErrForged) {
				t.Errorf("the seal of a %s on a %s: %v", other, is, forged)
			}
		}
	}
}

func TestOthersKeysDoNotVerify(t *testing.T) {
	k := testKey(t)
	other, err := NewKey(bytes.NewReader(bytes.Repeat([]byte{7}, 32)))
	if err != nil {
		t.Fatal(err)
	}
	badge, err1 := sampleBadge(k).Seal(k)
	slip, err2 := sampleSlip(k).Seal(k)
	if err := errors.Join(err1, err2); err != nil {
		t.Fatal(err)
	}
	for name, wrong := range map[string]Key{"another": other, "none": {}} {
		if !errors.Is(badge.Verify(wrong), ErrForged) || !errors.Is(slip.Verify(wrong), ErrForged) {
			t.Errorf("%s key verifies", name)
		}
		if _, err := sampleBadge(k).Seal(wrong); err == nil {
			t.Errorf("%s key seals a badge", name)
		}
		if _, err := sampleSlip(k).Seal(wrong); err == nil {
			t.Errorf("%s key seals a slip", name)
		}
	}
}

// TestChangedCharacters changes every character of a badge and of a slip to
// every other: none may read as genuine.
func TestChangedCharacters(t *testing.T) {
	k := testKey(t)
	for kind, good := range sealed(t, k) {
		text := []byte(good)
		for i := range text {
			for _, c := range []byte("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567") {
				if text[i] = c; c == good[i] {
					continue
				}
				tag, err1 := Parse(string(text))
				badge, err2 := ParseBadge(string(text))
				slip, err3 := ParseSlip(string(text))
				if err1 == nil && tag.Verify(k) == nil || err2 == nil && badge.Verify(k) == nil || err3 == nil && slip.Verify(k) == nil {
					t.Fatalf("%s: character %d changed to %c still verifies", kind, i, c)
				}
			}
			text[i] = good[i]
		}
	}
}

// TestNotOfAKind holds bodies with a good seal against what their kind allows:
// every bit that must be zero, each on its own, and the fields out of range.
func TestNotOfAKind(t *testing.T) {
	k := testKey(t)
	texts := sealed(t, k)
	change := func(kind Kind, label string, to func(b []byte)) string {
		c, err := split(texts[kind])
		if err != nil {
			t.Fatal(err)
		}
		to(c.body[:])
		return seal(k, c.body, label).text()
	}
	clear := func(from, to int) func([]byte) {
		return func(b []byte) {
			for i := from; i < to; i++ {
				b[i/8] &^= 0x80 >> (i % 8)
			}
		}
	}
	type row struct {
		name, text string
		want       error
	}
	rows := []row{
		{"a badge with serial 0", change(KindBadge, badgeLabel, clear(100, 110)), ErrMalformed},
		{"a slip for no day", change(KindSlip, slipLabel, clear(110, 126)), ErrMalformed},
		{"a slip with number 0", change(KindSlip, slipLabel, clear(144, 176)), ErrMalformed},
		{"a badge of format 0", change(KindBadge, badgeLabel, clear(0, 4)), ErrMalformed},
		{"a newer badge", change(KindBadge, badgeLabel, func(b []byte) { b[0] |= 0x20 }), ErrNewer},
		{"a newer slip", change(KindSlip, slipLabel, func(b []byte) { b[0] |= 0x20 }), ErrNewer},
		{"no kind", change(KindBadge, badgeLabel, clear(140, 144)), ErrMalformed},
		{"a third kind", change(KindBadge, badgeLabel, func(b []byte) { b[17] |= 0x03 }), ErrMalformed},
		{"a badge behind a prefix", "HTTPS://CRIB.EXAMPLE/" + texts[KindBadge], ErrMalformed},
		{"a slip behind a prefix", "HTTPS://CRIB.EXAMPLE/" + texts[KindSlip], ErrMalformed},
		{"a badge in small letters", strings.ToLower(texts[KindBadge]), ErrNotTag},
		{"half a slip", texts[KindSlip][:32], ErrNotTag},
		{"nothing", "", ErrNotTag},
	}
	zero := func(kind Kind, label string, ranges ...[2]int) {
		for _, r := range ranges {
			for i := r[0]; i < r[1]; i++ {
				rows = append(rows, row{
					fmt.Sprintf("a %s with bit %d set", kind, i),
					change(kind, label, func(b []byte) { b[i/8] |= 0x80 >> (i % 8) }), ErrMalformed,
				})
			}
		}
	}
	zero(KindBadge, badgeLabel, [2]int{126, 140}, [2]int{144, 192})
	zero(KindSlip, slipLabel, [2]int{100, 110}, [2]int{126, 140}, [2]int{176, 192})
	for _, r := range rows {
		if kind, err := KindOf(r.text); !errors.Is(err, r.want) || kind != NoKind {
			t.Errorf("%s: kind %q, %v, want %v", r.name, kind, err, r.want)
		}
		tag, err1 := Parse(r.text)
		badge, err2 := ParseBadge(r.text)
		slip, err3 := ParseSlip(r.text)
		for _, err := range []error{err1, err2, err3} {
			if !errors.Is(err, r.want) || errors.Is(err, ErrOtherKind) {
				t.Errorf("%s: %v, want %v", r.name, err, r.want)
			}
		}
		if tag != (Sealed{}) || badge != (SealedBadge{}) || slip != (SealedSlip{}) {
			t.Errorf("%s: an error with a value", r.name)
		}
	}
}

func TestBadgeAndSlipLimits(t *testing.T) {
	k := testKey(t)
	for name, c := range map[string]struct {
		change func(*Badge)
		ok     bool
	}{
		"serial 0":       {func(b *Badge) { b.Serial = 0 }, false},
		"serial 1":       {func(b *Badge) { b.Serial = 1 }, true},
		"serial 1023":    {func(b *Badge) { b.Serial = 1023 }, true},
		"serial 1024":    {func(b *Badge) { b.Serial = 1024 }, false},
		"no end":         {func(b *Badge) { b.Until = quantity.Date{} }, true},
		"the day before": {func(b *Badge) { b.Until = day(t, "2000-01-01") }, false},
		"the first day":  {func(b *Badge) { b.Until = day(t, "2000-01-02") }, true},
		"the last day":   {func(b *Badge) { b.Until = day(t, "2179-06-06") }, true},
		"the day after":  {func(b *Badge) { b.Until = day(t, "2179-06-07") }, false},
	} {
		b := sampleBadge(k)
		c.change(&b)
		s, err := b.Seal(k)
		if (err == nil) != c.ok {
			t.Errorf("badge, %s: %v", name, err)
			continue
		}
		if back, err := ParseBadge(s.Text()); c.ok && (err != nil || back != s || back.Badge != b) {
			t.Errorf("badge, %s: read back %+v, %v", name, back, err)
		}
	}
	for name, c := range map[string]struct {
		change func(*Slip)
		ok     bool
	}{
		"number 0":        {func(s *Slip) { s.No = 0 }, false},
		"number 1":        {func(s *Slip) { s.No = 1 }, true},
		"the last number": {func(s *Slip) { s.No = 1<<32 - 1 }, true},
		"no day":          {func(s *Slip) { s.Until = quantity.Date{} }, false},
		"the day before":  {func(s *Slip) { s.Until = day(t, "2000-01-01") }, false},
		"the first day":   {func(s *Slip) { s.Until = day(t, "2000-01-02") }, true},
		"the last day":    {func(s *Slip) { s.Until = day(t, "2179-06-06") }, true},
		"the day after":   {func(s *Slip) { s.Until = day(t, "2179-06-07") }, false},
	} {
		s := sampleSlip(k)
		c.change(&s)
		made, err := s.Seal(k)
		if (err == nil) != c.ok {
			t.Errorf("slip, %s: %v", name, err)
			continue
		}
		if back, err := ParseSlip(made.Text()); c.ok && (err != nil || back != made || back.Slip != s) {
			t.Errorf("slip, %s: read back %+v, %v", name, back, err)
		}
	}
}

// TestEveryBodyIsOfOneKindAtMost draws bodies near to codes: whatever is read
// has one spelling, and one reader.
func TestEveryBodyIsOfOneKindAtMost(t *testing.T) {
	k := testKey(t)
	texts := sealed(t, k)
	seen := map[Kind]bool{}
	rapid.Check(t, func(t *rapid.T) {
		c, err := split(texts[Kind(rapid.IntRange(int(KindTag), int(KindSlip)).Draw(t, "kind"))])
		if err != nil {
			t.Fatal(err)
		}
		for range rapid.IntRange(0, 3).Draw(t, "changes") {
			i := rapid.IntRange(4, 191).Draw(t, "bit")
			c.body[i/8] ^= 0x80 >> (i % 8)
		}
		seen[checkText(t, c.text())] = true
	})
	for _, kind := range []Kind{NoKind, KindTag, KindBadge, KindSlip} {
		if !seen[kind] {
			t.Errorf("no text of kind %q was drawn", kind)
		}
	}
}

// checkText holds the readers against each other and against KindOf.
func checkText(t interface{ Errorf(string, ...any) }, text string) Kind {
	kind, err := KindOf(text)
	if (err == nil) != (kind != NoKind) {
		t.Errorf("%q: kind %q with %v", text, kind, err)
	}
	tag, err1 := Parse(text)
	badge, err2 := ParseBadge(text)
	slip, err3 := ParseSlip(text)
	head, err4 := ParseHead(text)
	for of, got := range map[Kind]struct {
		again string
		err   error
	}{KindTag: {tag.Text(), err1}, KindBadge: {badge.Text(), err2}, KindSlip: {slip.Text(), err3}, KindHead: {headText{head}.Text(), err4}} {
		switch {
		case (got.err == nil) != (of == kind):
			t.Errorf("%q is a %q, read as a %s: %v", text, kind, of, got.err)
		case got.err == nil && got.again != text:
			t.Errorf("%q is written again as %q", text, got.again)
		case of != kind && errors.Is(got.err, ErrOtherKind) != (kind != NoKind):
			t.Errorf("%q is a %q, read as a %s: %v", text, kind, of, got.err)
		}
	}
	if kind == KindBadge && badge.encode() != badge.body || kind == KindSlip && slip.encode() != slip.body {
		t.Errorf("%q encodes otherwise", text)
	}
	return kind
}

func FuzzKinds(f *testing.F) {
	k := testKey(f)
	list := seeds(f)
	for _, kind := range []Kind{KindBadge, KindSlip} {
		text := sealed(f, k)[kind]
		list = append(list, text, "HTTPS://CRIB.EXAMPLE/"+text, text[1:]+"A")
	}
	head := headText{sampleHead()}.Text()
	list = append(list, head, "HTTPS://CRIB.EXAMPLE/"+head, "D"+head[1:], head[:60])
	if len(list) != 16 {
		f.Fatalf("%d seeds, want 16", len(list))
	}
	for _, s := range list {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		bounded.Run(t, time.Now, 1<<20, func() { checkText(t, text) })
	})
}
