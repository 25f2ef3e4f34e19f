package command

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"cribgate/core/state"
	"cribgate/store"
	"cribgate/store/keyring"
)

// While it serves, the kiosk makes a copy at once, beside whatever else it does,
// and takes away those that are not to be kept.
func TestServeMakesCopies(t *testing.T) {
	dir, to := filepath.Join(t.TempDir(), "crib"), t.TempDir()
	var out, errOut bytes.Buffer
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	if code := Run(ctx, []string{"init", "--register", dir, "--name", "North Sluice crib", "--keeper", "K. Dorn"}, nil, &out, &errOut); code != 0 {
		t.Fatalf("init: %d: %s", code, &errOut)
	}
	r, w := io.Pipe()
	done := make(chan int, 1)
	go func() {
		code := Run(ctx, []string{"serve", "--register", dir, "--listen", "127.0.0.1:0", "--copy-to", to, "--keep", "1", "--keep-days", "0"}, nil, io.Discard, w)
		w.Close()
		done <- code
	}()
	made := false
	for lines := bufio.NewScanner(r); lines.Scan(); {
		if strings.Contains(lines.Text(), "a copy of the register was made") {
			made = true
			cancel()
		}
	}
	if code := <-done; code != 0 || !made {
		t.Fatalf("serve: %d, a copy was made: %t", code, made)
	}
	list, err := store.Copies(to, "")
	if err != nil || len(list) != 1 || list[0].At != 4 {
		t.Errorf("%+v, %v", list, err)
	}
}

// Settings of copies that make no sense are wrong usage.
func TestServeRefusesCopies(t *testing.T) {
	for _, args := range [][]string{{"--copy-every", "1s"}, {"--keep", "0"}, {"--keep-days", "-1"}, {"--copy-every", "often"}} {
		var errOut bytes.Buffer
		args = append([]string{"serve", "--register", filepath.Join(t.TempDir(), "none"), "--copy-to", "x"}, args...)
		if code := Run(t.Context(), args, nil, io.Discard, &errOut); code != 2 {
			t.Errorf("%q: %d %s", args, code, &errOut)
		}
	}
}

// A register whose record ends more than a day ago wants the date confirmed, which
// takes two people.
func TestNextSteps(t *testing.T) {
	for age, confirm := range map[time.Duration]bool{0: false, store.Leap: false, store.Leap + time.Millisecond: true, -time.Hour: false} {
		if text := nextSteps("r", "r/keys", state.Crib{}, nil, keyring.Ring{}, age); strings.Contains(text, "confirm the date") != confirm {
			t.Errorf("%v: %s", age, text)
		}
	}
}
