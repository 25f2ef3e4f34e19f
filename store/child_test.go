package store_test

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"go.uber.org/goleak"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// The test program stands in for another program that has the register open:
// started with these set, it does what the role says and ends.
const (
	roleEnv = "CRIBGATE_STORE_ROLE"
	pathEnv = "CRIBGATE_STORE_PATH"
)

func TestMain(m *testing.M) {
	if role := os.Getenv(roleEnv); role != "" {
		if err := play(context.Background(), role, os.Getenv(pathEnv)); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	goleak.VerifyTestMain(m)
}

// child is the command that plays a role in another process.
func child(t *testing.T, role, path string) *exec.Cmd {
	t.Helper()
	cmd := exec.CommandContext(t.Context(), os.Args[0])
	cmd.Env = append(os.Environ(), roleEnv+"="+role, pathEnv+"="+path)
	cmd.Stderr = os.Stderr
	return cmd
}

func play(ctx context.Context, role, path string) (err error) {
	switch role {
	case "found":
		return foundAndTell(ctx, path)
	case "restore":
		return restoreAndTell(ctx, path)
	}
	s, err := store.Open(ctx, path, store.Options{Program: "child"})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	if n, stream := strings.CutPrefix(role, "stream "); stream {
		return streamed(ctx, s, n, besideFirst(n))
	}
	if n, both := strings.CutPrefix(role, "both "); both {
		return streamedByTwo(ctx, s, path, n)
	}
	switch role {
	case "copy":
		return copyAndTell(ctx, s, path)
	case "open": // and no more
		fmt.Println("opened")
		return nil
	case "erase":
		return eraseAndTell(ctx, s)
	case "bulk":
		return bulkAndTell(ctx, s)
	case "one": // registers one sling
		return enter(ctx, s, os.Getpid())
	case "syncs": // a fixed number of acts between two marks
		os.Getppid()
		for n := range acts {
			if err := enter(ctx, s, n); err != nil {
				return err
			}
		}
		os.Getppid()
		return nil
	case "load": // works until it is killed
		return load(ctx, s)
	case "policies": // sets one policy after the other until it is killed
		return policies(ctx, s)
	case "copies": // makes copies until it is killed, and tells of every step
		for {
			c, err := s.Copy(ctx, copiesOf(path), store.Copying{Progress: func(stage string, done, total int64) { fmt.Println(stage, done, total) }})
			if err != nil {
				return err
			}
			fmt.Println("made", filepath.Base(c.Path))
			if err := enter(ctx, s, int(c.At)); err != nil {
				return err
			}
		}
	case "doubt and ask again", "doubt and die": // works on a disk that fails now and then
		return doubt(ctx, s, role == "doubt and die")
	}
	return fmt.Errorf("no role %q", role)
}

// copiesOf is where the copies of the register at path go.
func copiesOf(path string) string { return filepath.Join(filepath.Dir(path), "copies") }

// policies tells of every act that was acknowledged: its key and the answer.
func policies(ctx context.Context, s *store.Store) error {
	for n := 0; ; n++ {
		key := fmt.Sprintf("%d/%d", os.Getpid(), n)
		answer, err := s.Do(ctx, store.Act{Station: "child", Way: "hand", Key: key}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
			crib, err := tx.Crib(ctx)
			if err != nil {
				return nil, err
			}
			policy := crib.Founded.Policy
			policy.MaxMonths = 1 + n%12
			rec, err := tx.Append(ctx, event.Crib(), crib.Heads, event.PolicySet{Policy: policy})
			return fmt.Append(nil, rec.Envelope.At, " ", rec.Hash), err
		})
		if err != nil {
			return err
		}
		fmt.Printf("%s %s\n", key, answer)
	}
}

// acts is how many acts the traced child does.
const acts = 50

// doubt registers slings, tells what it was told of each, and asks again, or
// dies on the spot, where the outcome is not known.
func doubt(ctx context.Context, s *store.Store, die bool) error {
	for n := range acts {
		err := enter(ctx, s, n)
		fmt.Println(n, err == nil, errors.Is(err, store.ErrUnknownOutcome))
		if errors.Is(err, store.ErrUnknownOutcome) {
			if die {
				os.Exit(3)
			}
			err = enter(ctx, s, n)
			fmt.Println(n, err == nil, errors.Is(err, store.ErrUnknownOutcome))
		}
		if err != nil {
			return err
		}
	}
	return nil
}

func enter(ctx context.Context, s *store.Store, n int) error {
	d := storetest.Sling(n)
	_, err := s.Do(ctx, store.Act{Station: "child", Way: "hand", Key: "enter " + strconv.Itoa(n)}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		_, err := tx.Append(ctx, event.Sling(event.SlingOf(storetest.Key, d.Ident)), nil, event.Registered{Details: d})
		return nil, err
	})
	return err
}

// clients is how many write at once under load.
const clients = 8

// load has each client hold and release a sling of its own, and tells of every
// act that was acknowledged: its key and the answer.
func load(ctx context.Context, s *store.Store) error {
	var all sync.WaitGroup
	var out sync.Mutex
	failed := make(chan error, clients)
	for c := range clients {
		all.Go(func() {
			id := event.SlingOf(storetest.Key, storetest.Sling(c).Ident)
			for n := 0; ; n++ {
				key := fmt.Sprintf("%d/%d/%d", os.Getpid(), c, n)
				answer, err := s.Do(ctx, store.Act{Station: "child", Way: "hand", Key: key}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
					return toggle(ctx, tx, id)
				})
				if err != nil {
					failed <- err
					return
				}
				out.Lock()
				fmt.Printf("%s %s\n", key, answer)
				out.Unlock()
			}
		})
	}
	all.Wait()
	return <-failed
}

// toggle holds a sling that is in and releases one that is held; the answer is
// position and hash of the event.
func toggle(ctx context.Context, tx *store.Tx, id event.SlingID) ([]byte, error) {
	sling, err := tx.Sling(ctx, id)
	if err != nil {
		return nil, err
	}
	body := event.Body(event.Held{Reason: "looked at"})
	if sling.Hold.Reason != "" {
		body = event.Released{Reason: "looked at"}
	}
	rec, err := tx.Append(ctx, event.Sling(id), sling.Heads, body)
	if err != nil {
		return nil, err
	}
	return fmt.Appendf(nil, "%d %s", rec.Envelope.At, rec.Hash), nil
}
