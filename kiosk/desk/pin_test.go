package desk

import (
	"errors"
	"strings"
	"testing"
)

func TestCheckPIN(t *testing.T) {
	for _, c := range []struct {
		pin  string
		want error
	}{
		{"", ErrPINDigits},
		{"48151", ErrPINDigits},
		{"481516", nil},
		{"481516234290", nil},
		{"4815162342901", ErrPINDigits},
		{"48151a", ErrPINDigits},
		{"48151 6", ErrPINDigits},
		{"４８１５１６", ErrPINDigits},
		{"-48151", ErrPINDigits},
		{"000000", ErrPINSimple},
		{"123456", ErrPINSimple},
		{"789012", ErrPINSimple},
		{"654321", ErrPINSimple},
		{"210987", ErrPINSimple},
		{"123457", nil},
		{"474747", ErrPINSimple},
		{"4747474", ErrPINSimple},
		{"471471", ErrPINSimple},
		{"47147147", ErrPINSimple},
		{"471472", nil},
	} {
		if got := CheckPIN(c.pin); !errors.Is(got, c.want) || (got == nil) != (c.want == nil) {
			t.Errorf("CheckPIN(%q) = %v, want %v", c.pin, got, c.want)
		}
	}
}

func TestOneTimeIsSixRandomDigits(t *testing.T) {
	seen := map[string]bool{}
	for range 200 {
		pin := oneTime(randomSeed())
		if len(pin) != MinDigits || CheckPIN(pin) != nil {
			t.Errorf("one-time PIN %q may not be chosen", pin)
		}
		seen[pin] = true
	}
	// 200 draws of a million: two equal ones are likely once in 50 runs, ten never.
	if len(seen) < 190 {
		t.Errorf("200 draws gave %d different PINs", len(seen))
	}
}

func TestHash(t *testing.T) {
	a, b := hashPIN("481516"), hashPIN("481516")
	if a == b {
		t.Error("two hashes of one PIN are equal: no salt")
	}
	if !strings.HasPrefix(a, "$argon2id$v=19$m=65536,t=3,p=1$") {
		t.Errorf("hash %q does not state its cost", a)
	}
	for pin, want := range map[string]bool{"481516": true, "481517": false, "": false} {
		if got, err := matches(a, pin); err != nil || got != want {
			t.Errorf("matches(hash of 481516, %q) = %v, %v", pin, got, err)
		}
	}
}

// An unknown person's PIN takes as long to check as anybody's.
func TestStrangerCostsAsMuch(t *testing.T) {
	known, unknown := strings.Split(hashPIN("481516"), "$"), strings.Split(stranger, "$")
	for i, part := range known {
		if i < 4 && unknown[i] != part || len(unknown[i]) != len(part) {
			t.Errorf("a stranger's hash says %q where another's says %q", unknown[i], part)
		}
	}
	if ok, err := matches(stranger, "481516"); ok || err != nil {
		t.Errorf("a stranger's PIN: %v, %v", ok, err)
	}
}

func TestMatchesRefusesOtherTexts(t *testing.T) {
	good := hashPIN("481516")
	fields := strings.Split(good, "$")
	with := func(i int, v string) string {
		f := append([]string(nil), fields...)
		f[i] = v
		return strings.Join(f, "$")
	}
	for name, stored := range map[string]string{
		"empty":           "",
		"plain PIN":       "481516",
		"other function":  with(1, "argon2i"),
		"other version":   with(2, "v=16"),
		"no cost":         with(3, ""),
		"huge memory":     with(3, "m=4000000000,t=3,p=1"),
		"no lanes":        with(3, "m=65536,t=3,p=0"),
		"no passes":       with(3, "m=65536,t=0,p=1"),
		"salt not base64": with(4, "***"),
		"short salt":      with(4, "AAAA"),
		"hash cut":        with(5, fields[5][:4]),
		"text after":      good + "$x",
	} {
		if ok, err := matches(stored, "481516"); ok || err == nil {
			t.Errorf("%s: matches = %v, %v, want an error", name, ok, err)
		}
	}
}
