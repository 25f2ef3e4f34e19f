package store_test

import (
	"context"
	"errors"
	"fmt"
	"strconv"
	"strings"
	"sync"

	"cribgate/core/event"
	"cribgate/store"
	"cribgate/store/storetest"
)

// foundAndTell founds a register and says so when it is done.
func foundAndTell(ctx context.Context, path string) error {
	s, _, err := store.Init(ctx, path, storetest.Founding(), store.Options{Program: "child"})
	if err != nil {
		return err
	}
	fmt.Println("founded")
	return s.Close()
}

// How many write at once in the stream that is cut, and what is entered in bulk.
const (
	writers = 4
	perBulk = 10
)

// streamed has each writer do so many acts on a sling of its own, while another
// enters slings in bulk, which puts the write-ahead log into the file, and makes
// the present again. Every act that is acknowledged is told: its key, position and
// hash. Where the outcome is not known it is asked again with the same key. What it
// is to do is that number, and what its keys begin with, if another program does the
// same beside it.
func streamed(ctx context.Context, s *store.Store, what string, beside *pace) error {
	each, own, _ := strings.Cut(what, " ")
	n, err := strconv.Atoi(each)
	if err != nil {
		return err
	}
	if err := beside.begin(); err != nil {
		return err
	}
	var all sync.WaitGroup
	var out sync.Mutex
	tell := func(key, answer string) {
		out.Lock()
		defer out.Unlock()
		fmt.Printf("%s %s\n", key, answer)
	}
	failed := make(chan error, writers+1)
	for w := range writers {
		all.Go(func() {
			id := event.SlingOf(storetest.Key, storetest.Sling(w).Ident)
			for i := range n {
				key := fmt.Sprintf("%s%d/%d", own, w, i)
				answer, err := again(func() ([]byte, error) {
					return s.Do(ctx, store.Act{Station: "child", Way: "hand", Key: key}, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
						return toggle(ctx, tx, id)
					})
				})
				if err != nil {
					failed <- err
					return
				}
				tell(key, string(answer))
				if err := beside.step(); err != nil {
					failed <- err
					return
				}
			}
		})
	}
	all.Go(func() {
		for i := range max(2, n/10) {
			var last store.Record
			_, err := again(func() ([]byte, error) {
				return nil, s.Bulk(ctx, store.Act{Station: "child", Way: "hand"}, func(ctx context.Context, tx *store.Tx) (err error) {
					for k := range perBulk {
						d := storetest.Sling(1000*(1+len(own)) + perBulk*i + k)
						if last, err = tx.Append(ctx, event.Sling(event.SlingOf(storetest.Key, d.Ident)), nil, event.Registered{Details: d}); err != nil {
							return err
						}
					}
					return nil
				})
			})
			if err == nil {
				tell(own+"bulk", fmt.Sprintf("%d %s", last.Envelope.At, last.Hash))
				_, err = again(func() ([]byte, error) { return nil, s.Rebuild(ctx) })
			}
			if err != nil {
				failed <- err
				return
			}
		}
	})
	all.Wait()
	close(failed)
	return errors.Join(<-failed, beside.ends())
}

// again repeats what may or may not have been done, and what another program kept
// waiting for too long.
func again(f func() ([]byte, error)) (answer []byte, err error) {
	for range 100 { // on a disk that fails every few syncs
		if answer, err = f(); !errors.Is(err, store.ErrUnknownOutcome) && !errors.Is(err, store.ErrLocked) {
			break
		}
	}
	return answer, err
}
