package command

import (
	"context"
	"crypto/rand"
	"errors"
	"io"
	"net"
	"net/http"
	"sync/atomic"
	"testing"
	"time"

	"cribgate/core/event"
	"cribgate/kiosk/desk"
	"cribgate/store"
	"cribgate/store/keyring"
	"cribgate/store/storetest"
)

// While it serves, a kiosk forgets answers that nobody can ask for any more, and
// keeps the others.
func TestOldAnswersGoWhileItServes(t *testing.T) {
	dir := t.TempDir()
	register, deskFile, keys := store.Paths(dir)
	var passed atomic.Int64
	o := store.Options{Program: "test", Now: func() time.Time {
		return time.Date(2026, 3, 2, 12, 0, 0, 0, time.UTC).Add(time.Duration(passed.Load()))
	}}
	key, err := keyring.Create(keys, rand.Reader)
	if err != nil {
		t.Fatal(err)
	}
	founding := storetest.Founding()
	founding.Key = key.Fingerprint()
	st, _, err := store.Init(t.Context(), register, founding, o)
	if err == nil {
		err = errors.Join(st.Close(), desk.Init(t.Context(), deskFile))
	}
	if err != nil {
		t.Fatal(err)
	}
	k, err := Open(t.Context(), dir, o)
	if err != nil {
		t.Fatal(err)
	}
	defer k.Close()
	answered := func(key string) {
		t.Helper()
		_, err := k.Store.Do(t.Context(), store.Act{Station: "test", Way: "program", Key: key}, func(context.Context, *store.Tx) ([]byte, error) {
			return []byte("done"), nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	goesOn := func(events int) {
		t.Helper()
		err := k.Store.Bulk(t.Context(), store.Act{Station: "test", Way: "program"}, func(ctx context.Context, tx *store.Tx) error {
			crib, err := tx.Crib(ctx)
			seen := crib.Heads
			for n := 0; err == nil && n < events; n++ {
				var rec store.Record
				rec, err = tx.Append(ctx, event.Crib(), seen, event.PolicySet{Policy: founding.Policy})
				seen = []event.Hash{rec.Hash}
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	answered("old")
	goesOn(1100)
	passed.Store(int64(store.AnswersKept + time.Hour))
	goesOn(1)
	answered("new")

	listener, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	ended := make(chan error, 1)
	go func() { ended <- k.Serve(ctx, listener) }()
	until := time.Now().Add(time.Minute)
	for known := true; known && time.Now().Before(until); {
		answer, err := http.Get("http://" + listener.Addr().String() + "/sign-in")
		if err == nil {
			_, err = io.Copy(io.Discard, answer.Body)
			err = errors.Join(err, answer.Body.Close())
		}
		if err != nil {
			t.Fatal(err)
		}
		if _, known, err = k.Store.Answered(t.Context(), "old"); err != nil {
			t.Fatal(err)
		}
	}
	if _, known, err := k.Store.Answered(t.Context(), "old"); known || err != nil {
		t.Errorf("the old answer is still there, %v", err)
	}
	if _, known, err := k.Store.Answered(t.Context(), "new"); !known || err != nil {
		t.Errorf("the new answer is gone, %v", err)
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
}
