package store

import (
	"context"
	"database/sql"
	"fmt"
	"sync"
	"time"
)

// pollEvery is how often the file is asked whether another program has written.
const pollEvery = time.Second

// feed wakes whoever watches the register. A listener has one slot, which holds
// the newest position it has not taken yet; the writer never waits.
type feed struct {
	mu        sync.Mutex
	newest    int64
	listeners map[chan int64]struct{}
}

// publish tells of a position, unless it is known already.
func (f *feed) publish(at int64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if at <= f.newest {
		return
	}
	f.newest = at
	for c := range f.listeners {
		select {
		case <-c: // what was not taken is out of date
		default:
		}
		c <- at // cannot wait: only publish sends, and it holds the lock
	}
}

func (f *feed) join() chan int64 {
	c := make(chan int64, 1)
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.listeners == nil {
		f.listeners = make(map[chan int64]struct{})
	}
	f.listeners[c] = struct{}{}
	return c
}

func (f *feed) leave(c chan int64) {
	f.mu.Lock()
	defer f.mu.Unlock()
	delete(f.listeners, c)
	close(c)
}

// Watch gives the newest position after each commit, at once for this program's
// own and within about a second for another's. Positions in between may be left
// out. The channel is closed when ctx or the store ends.
func (s *Store) Watch(ctx context.Context) <-chan int64 {
	c := s.feed.join()
	s.tasks.Go(func() {
		defer s.feed.leave(c)
		select {
		case <-ctx.Done():
		case <-s.ending.Done():
		}
	})
	return c
}

// poll publishes what other programs write, until ctx ends. The file's data
// version, read on a connection of its own, changes with every commit of
// another connection. A poll that fails is tried again.
func (s *Store) poll(ctx context.Context) {
	ticker := time.NewTicker(pollEvery)
	defer ticker.Stop()
	conn, err := s.db.Read.Conn(ctx)
	if err != nil { // ctx has ended, or the file cannot be opened any more
		if ctx.Err() == nil {
			s.o.Log.WarnContext(ctx, "watch the register", "err", err)
		}
		return
	}
	defer func() {
		if err := conn.Close(); err != nil {
			s.o.Log.WarnContext(ctx, "end watching the register", "err", err)
		}
	}()
	last := int64(-1)
	for {
		if last, err = s.pollOnce(ctx, conn, last); err != nil && ctx.Err() == nil {
			s.o.Log.WarnContext(ctx, "watch the register", "err", err)
		}
		select {
		case <-ctx.Done():
			return
		case <-ticker.C:
		}
	}
}

// pollOnce publishes the head where the data version is not the last one, and
// gives the version that has been dealt with.
func (s *Store) pollOnce(ctx context.Context, conn *sql.Conn, last int64) (int64, error) {
	var version int64
	if err := conn.QueryRowContext(ctx, "PRAGMA data_version").Scan(&version); err != nil {
		return last, fmt.Errorf("store: data version: %w", explain(err))
	}
	if version == last {
		return last, nil
	}
	head, err := Reader{conn}.Head(ctx)
	if err != nil {
		return last, err
	}
	s.feed.publish(head.At)
	return version, nil
}
