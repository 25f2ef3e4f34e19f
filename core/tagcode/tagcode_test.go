package tagcode

import (
	"bytes"
	"crypto/hmac"
	"crypto/sha256"
	"encoding/base32"
	"encoding/hex"
	"errors"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"cribgate/core/bounded"
	"cribgate/core/quantity"
)

// testKey is the bytes 1 to 32.
func testKey(t testing.TB) Key {
	t.Helper()
	secret := make([]byte, 32)
	for i := range secret {
		secret[i] = byte(i + 1)
	}
	k, err := NewKey(bytes.NewReader(secret))
	if err != nil {
		t.Fatal(err)
	}
	return k
}

func sample(k Key) Tag {
	date, _ := quantity.ParseDate("2025-11-10")
	return Tag{
		Key: k.Fingerprint(), Number: NumberOf(k.Fingerprint(), "NS-0417"), Serial: 3,
		Inspected: date, Outcome: Fit, Due: date.AddMonths(12),
		Facts: Facts{Grade: 1, Size: 3, Legs: 2, Reach: 2400 * quantity.Millimetre, Basis: 2, Load: 12_300},
	}
}

func TestTextIs64CharactersAndReadsBack(t *testing.T) {
	k := testKey(t)
	s, err := sample(k).Seal(k)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Text()) != Length {
		t.Fatalf("text has %d characters, want %d", len(s.Text()), Length)
	}
	back, err := Parse(s.Text())
	if err != nil {
		t.Fatal(err)
	}
	if back.Tag != s.Tag {
		t.Errorf("read back %+v, want %+v", back.Tag, s.Tag)
	}
	if err := back.Verify(k); err != nil {
		t.Errorf("verify: %v", err)
	}
}

// TestBodyByHand lays the body out a second time, from the table of the
// package comment, with arithmetic on a big bit string instead of the encoder.
func TestBodyByHand(t *testing.T) {
	k := testKey(t)
	tag := sample(k)
	s, err := tag.Seal(k)
	if err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	field := func(width int, v uint64) {
		for i := width - 1; i >= 0; i-- {
			b.WriteByte('0' + byte(v>>i&1))
		}
	}
	field(4, 1)
	f := k.Fingerprint()
	for _, x := range f {
		field(8, uint64(x))
	}
	number := sha256.Sum256([]byte(string(f[:]) + "NS-0417"))
	for _, x := range number[:8] {
		field(8, uint64(x))
	}
	field(10, 3)
	field(16, 9445) // 2000-01-01 to 2025-11-10: 25 years, 7 leap days, 313 days
	field(2, 1)
	field(9, 365)
	field(1, 0)
	field(2, 1)
	field(4, 3)
	field(2, 1)
	field(1, 0)
	field(17, 2400)
	field(3, 2)
	field(1, 0)
	field(18, 12_300)
	field(1, 0)
	field(5, 0)
	bits := b.String()
	if len(bits) != 192 {
		t.Fatalf("the table has %d bits, want 192", len(bits))
	}
	body := make([]byte, 24)
	for i := range bits {
		body[i/8] = body[i/8]<<1 | (bits[i] - '0')
	}
	secret := make([]byte, 32)
	for i := range secret {
		secret[i] = byte(i + 1)
	}
	h := hmac.New(sha256.New, secret)
	h.Write(append(body, "cribgate tag"...))
	want := base32.StdEncoding.WithPadding(base32.NoPadding).EncodeToString(append(body, h.Sum(nil)[:16]...))
	if s.Text() != want {
		t.Errorf("text\n%s, by hand\n%s", s.Text(), want)
	}
}

// TestMAC holds the authentication against RFC 4231 test case 5, which is cut
// to 128 bits. Its key has 20 bytes and ours 32: HMAC pads both with zeros.
func TestMAC(t *testing.T) {
	secret := append(bytes.Repeat([]byte{0x0c}, 20), make([]byte, 12)...)
	k, err := NewKey(bytes.NewReader(secret))
	if err != nil {
		t.Fatal(err)
	}
	got := k.mac([]byte("Test With "), "Truncation")
	if hex.EncodeToString(got[:]) != "a3b6167473100ee06e0c796c2955552b" {
		t.Errorf("got %x", got)
	}
}

func TestRefused(t *testing.T) {
	k := testKey(t)
	s, err := sample(k).Seal(k)
	if err != nil {
		t.Fatal(err)
	}
	text := s.Text()
	reseal := func(change func(b []byte)) string { // a body that no tag has, with a good MAC
		b := bytes.Clone(s.body[:])
		change(b)
		m := k.mac(b, tagLabel)
		return base32Text.EncodeToString(append(b, m[:]...))
	}
	for _, c := range []struct {
		name, text string
		want       error
	}{
		{"empty", "", ErrNotTag},
		{"one character short", text[1:], ErrNotTag},
		{"one character more", text + "A", ErrNotTag},
		{"lower case", strings.ToLower(text), ErrNotTag},
		{"padding", text[:63] + "=", ErrNotTag},
		{"outside the alphabet", text[:63] + "1", ErrNotTag},
		{"space before", " " + text, ErrNotTag},
		{"line feed after", text + "\n", ErrNotTag},
		{"line feed inside", text[:8] + "\n" + text[8:], ErrNotTag},
		{"web address", "https://example.org/x", ErrNotTag},
		{"lower-case prefix", "https://A.EXAMPLE/" + text, ErrNotTag},
		{"prefix without a host", "HTTPS:///" + text, ErrNotTag},
		{"prefix too long", "HTTPS://ABCDEFGH.EXAMPLE/" + text, ErrNotTag},
		{"newer format", reseal(func(b []byte) { b[0] = 2<<4 | b[0]&15 }), ErrNewer},
		{"format zero", reseal(func(b []byte) { b[0] &= 15 }), ErrMalformed},
		{"a zero bit set", reseal(func(b []byte) { b[23] |= 1 }), ErrMalformed},
		{"serial zero", reseal(func(b []byte) { b[12] &^= 0x0f; b[13] &^= 0xfc }), ErrMalformed},
		{"no outcome but a date", reseal(func(b []byte) { b[15] &^= 0x03 }), ErrMalformed},
	} {
		got, err := Parse(c.text)
		if !errors.Is(err, c.want) || got != (Sealed{}) {
			t.Errorf("%s: %v, want %v and the zero value", c.name, err, c.want)
		}
	}
}

func TestForged(t *testing.T) {
	k := testKey(t)
	other, err := NewKey(bytes.NewReader(bytes.Repeat([]byte{7}, 32)))
	if err != nil {
		t.Fatal(err)
	}
	s, err := sample(k).Seal(k)
	if err != nil {
		t.Fatal(err)
	}
	if !errors.Is(s.Verify(other), ErrForged) || !errors.Is(s.Verify(Key{}), ErrForged) {
		t.Error("another key, or none, verifies the tag")
	}
	// Every single character changed to every other: none may verify.
	text := []byte(s.Text())
	for i := range text {
		was := text[i]
		for _, c := range []byte("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567") {
			if c == was {
				continue
			}
			text[i] = c
			if got, err := Parse(string(text)); err == nil && got.Verify(k) == nil {
				t.Fatalf("character %d changed from %c to %c still verifies", i, was, c)
			}
		}
		text[i] = was
	}
}

func TestSealRefusesWhatDoesNotFit(t *testing.T) {
	k := testKey(t)
	date, _ := quantity.ParseDate("2025-11-10")
	early, _ := quantity.ParseDate("1999-12-31")
	for name, change := range map[string]func(*Tag){
		"another key":               func(t *Tag) { t.Key[0]++ },
		"serial 0":                  func(t *Tag) { t.Serial = 0 },
		"serial 1024":               func(t *Tag) { t.Serial = 1024 },
		"due 512 days on":           func(t *Tag) { t.Due = date.AddDays(512) },
		"due on the day":            func(t *Tag) { t.Due = date },
		"due before":                func(t *Tag) { t.Due = date.AddDays(-1) },
		"inspected before 2000":     func(t *Tag) { t.Inspected, t.Due = early, quantity.Date{} },
		"inspected, no outcome":     func(t *Tag) { t.Outcome = NoOutcome },
		"outcome, not inspected":    func(t *Tag) { t.Inspected, t.Due = quantity.Date{}, quantity.Date{} },
		"grade 0":                   func(t *Tag) { t.Grade = 0 },
		"us size 10":                func(t *Tag) { t.Size = 10 },
		"no legs":                   func(t *Tag) { t.Legs = 0 },
		"five legs":                 func(t *Tag) { t.Legs = 5 },
		"reach 131,072 mm":          func(t *Tag) { t.Reach = 131_072 * quantity.Millimetre },
		"reach of half a mm":        func(t *Tag) { t.Reach = quantity.Millimetre / 2 },
		"basis of the other system": func(t *Tag) { t.Basis = 5 },
		"basis 7":                   func(t *Tag) { t.Basis = 7 },
		"load 262,144":              func(t *Tag) { t.Load = 262_144 },
		"load without basis":        func(t *Tag) { t.Basis = 0 },
		"basis without load":        func(t *Tag) { t.Load = 0 },
	} {
		tag := sample(k)
		change(&tag)
		if _, err := tag.Seal(k); err == nil {
			t.Errorf("%s: sealed", name)
		}
	}
	for name, change := range map[string]func(*Tag){ // the other side of each limit
		"serial 1023":      func(t *Tag) { t.Serial = 1023 },
		"due 511 days on":  func(t *Tag) { t.Due = date.AddDays(511) },
		"due next day":     func(t *Tag) { t.Due = date.AddDays(1) },
		"us size 9":        func(t *Tag) { t.Size = 9 },
		"en size 10":       func(t *Tag) { t.EN, t.Size, t.Basis = true, 10, 5 },
		"reach 131,071 mm": func(t *Tag) { t.Reach = 131_071 * quantity.Millimetre },
		"load 262,143":     func(t *Tag) { t.Load = 262_143 },
		"never inspected":  func(t *Tag) { t.Inspected, t.Due, t.Outcome = quantity.Date{}, quantity.Date{}, NoOutcome },
	} {
		tag := sample(k)
		change(&tag)
		s, err := tag.Seal(k)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if back, err := Parse(s.Text()); err != nil || back.Tag != tag {
			t.Errorf("%s: read back %+v, %v", name, back.Tag, err)
		}
	}
}

func TestPrefix(t *testing.T) {
	k := testKey(t)
	s, err := sample(k).Seal(k)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.WithPrefix("HTTPS://CRIB.EXAMPLE/T/") // 23 characters
	if err != nil {
		t.Fatal(err)
	}
	if got := len(p.Text()); got != Length+MaxPrefix {
		t.Errorf("%d characters", got)
	}
	back, err := Parse(p.Text())
	if err != nil || back.Tag != s.Tag || back.Verify(k) != nil || back.Text() != p.Text() {
		t.Errorf("read back %+v, %v", back, err)
	}
	if _, err := s.WithPrefix("HTTPS://CRIB.EXAMPLE/TT/"); err == nil {
		t.Error("24 characters taken")
	}
}

func TestKeyText(t *testing.T) {
	k := testKey(t)
	text, err := k.MarshalText()
	if err != nil {
		t.Fatal(err)
	}
	for _, spelling := range []string{string(text), strings.TrimSuffix(string(text), "\n")} {
		if back, err := ParseKey(spelling); err != nil || back != k {
			t.Errorf("read back: %v", err)
		}
	}
	for name, bad := range map[string]string{
		"empty": "", "two line feeds": string(text) + "\n", "short": string(text[:40]),
		"one character changed": strings.Replace(string(text), "AEBA", "AEBB", 1),
		"wrong fingerprint":     strings.Replace(string(text), k.Fingerprint().String(), "00000000", 1),
	} {
		if got, err := ParseKey(bad); !errors.Is(err, ErrKeyFile) || !got.IsZero() {
			t.Errorf("%s: %v", name, err)
		}
	}
	if s := k.String() + k.GoString(); strings.Contains(s, "AEBAGBAF") {
		t.Error("a key shows itself when printed")
	}
}

func TestIdent(t *testing.T) {
	for ident, ok := range map[string]bool{
		"NS-0417": true, "A": true, "ABCDEFGHIJKLMNOP": true, "A 1/2.B-3": true,
		"": false, "ABCDEFGHIJKLMNOPQ": false, "ns-1": false, " A": false, "A ": false, "A  B": false, "Ä": false, "A\n": false, "A_B": false,
	} {
		if got := CheckIdent(ident) == nil; got != ok {
			t.Errorf("%q taken: %t, want %t", ident, got, ok)
		}
	}
}

// TestISO7064 holds the check character against examples of ISO 7064 MOD 37,36:
// the first three stand in public test suites, the last two were computed
// independently.
func TestISO7064(t *testing.T) {
	for body, want := range map[string]byte{
		"A12425GABC1234002": 'M', "B159D8FA01240000": 'K', "188166C734200000": '3', "ABC123": '0', "CS80A0001": 'H',
	} {
		if got := check(body); got != want {
			t.Errorf("%s: %c, want %c", body, got, want)
		}
	}
}

func TestShort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := Number(rapid.Uint64().Draw(t, "number"))
		s := Serial(rapid.Uint16Range(1, uint16(MaxSerial)).Draw(t, "serial"))
		c := ShortOf(n, s)
		text := c.String()
		for _, typed := range []string{text, strings.ToLower(text), strings.ReplaceAll(text, "-", ""), strings.ReplaceAll(text, "0", "o"), strings.ReplaceAll(text, "1", "l")} {
			if back, err := ParseShort(typed); err != nil || back != c {
				t.Fatalf("%q: %v, %v", typed, back, err)
			}
		}
		// One wrong character is caught, the check character and its look-alikes apart.
		at := rapid.IntRange(0, 7).Draw(t, "at")
		wrong := digits[rapid.IntRange(0, 31).Draw(t, "wrong")]
		plain := []byte(strings.ReplaceAll(text, "-", ""))
		folds := strings.ContainsRune("01ILO", rune(plain[8]))
		if plain[at] != wrong && !folds {
			plain[at] = wrong
			if back, err := ParseShort(string(plain)); err == nil {
				t.Fatalf("%s for %s is taken as %v", plain, text, back)
			}
		}
	})
	for _, bad := range []string{"", "123", "0A0-000-000-0", "UUU-UUU-UUU", "00A-BCD-EF0", strings.Repeat("-", 100)} {
		if _, err := ParseShort(bad); !errors.Is(err, ErrShort) {
			t.Errorf("%q: %v", bad, err)
		}
	}
}

// seeds are valid and nearly valid tag texts for the fuzzer.
func seeds(t testing.TB) []string {
	k := testKey(t)
	s, err := sample(k).Seal(k)
	if err != nil {
		t.Fatal(err)
	}
	p, err := s.WithPrefix("HTTPS://CRIB.EXAMPLE/")
	if err != nil {
		t.Fatal(err)
	}
	return []string{s.Text(), p.Text(), strings.ToLower(s.Text()), s.Text()[:63], strings.Repeat("A", 64), strings.Repeat("7", 64)}
}

func FuzzParse(f *testing.F) {
	list := seeds(f)
	if len(list) != 6 {
		f.Fatalf("%d seeds, want 6", len(list))
	}
	for _, s := range list {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, text string) {
		bounded.Run(t, time.Now, 1<<20, func() {
			s, err := Parse(text)
			if err != nil {
				if s != (Sealed{}) {
					t.Errorf("an error with a value: %+v", s)
				}
				return
			}
			if s.Text() != text {
				t.Errorf("%q reads as %q", text, s.Text())
			}
			body, err := s.Tag.encode()
			if err != nil || body != s.body {
				t.Errorf("%q encodes otherwise: %v", text, err)
			}
		})
	})
}
