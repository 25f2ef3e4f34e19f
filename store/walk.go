package store

import (
	"context"
	"database/sql"
	"fmt"
	"runtime"
	"sync"
	"time"

	"cribgate/core/event"
)

// stride is how many rows a walk along the log takes at a time: few enough that
// a walk is no long reader, and stays in the caches of the cores.
const stride = 500

// ordinary is how many bytes a row mostly has, envelope and body.
const ordinary = 2 << 10

// stretch is a part of the log on its way from the file, past the core that looks
// at each row alone, to whoever follows the log in its order.
type stretch struct {
	rows []checked
	room []byte // what the bytes of rows lie in
	err  error  // why nothing comes after it
	done chan struct{}
}

// walk reads the log from the row after a position to its end. While f follows
// one stretch of it, in order, every core reads the next that nobody has read and
// checks it. What f is given is good until it returns. Nothing is written. A gentle
// walk has one worker, and rests for four times as long as each stretch takes.
func (r Reader) walk(ctx context.Context, after int64, gently bool, f func(rows []checked) error) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	workers := runtime.GOMAXPROCS(0) + 1 // one of them waits for its turn to read
	under := 2 * workers                 // stretches that are under way
	if gently {
		workers, under = 1, 1 // and nothing is read while f follows, or while it rests
	}
	free := make(chan *stretch, under)
	for range under {
		free <- &stretch{rows: make([]checked, 0, stride), room: make([]byte, 0, stride*ordinary), done: make(chan struct{}, 1)}
	}
	w := walker{r: r, at: after, order: make(chan *stretch, under)}
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			var d event.Decoder
			for s := range free {
				if !w.next(ctx, s) {
					return
				}
				for i := range s.rows {
					s.rows[i].check(&d)
				}
				s.done <- struct{}{}
			}
		})
	}
	go func() {
		all.Wait()
		close(w.order)
	}()
	var err error
	begun := time.Now()
	for s := range w.order {
		<-s.done
		if err == nil {
			err = f(s.rows)
		}
		if err == nil {
			err = s.err
		}
		if err == nil && gently {
			err = rest(ctx, 4*time.Since(begun))
			begun = time.Now()
		}
		if err != nil {
			stop() // and let what is under way come to its end
		}
		free <- s
	}
	return err
}

// walker hands the log out, stretch by stretch. Whoever checks a stretch has read
// it: a reader of its own would wait for a core while the others have nothing to do.
type walker struct {
	r     Reader
	order chan *stretch // what was read, in the order of the log

	mu   sync.Mutex
	at   int64 // read so far
	over bool
}

// next reads the next stretch, false where there is none.
func (w *walker) next(ctx context.Context, s *stretch) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.over {
		return false
	}
	s.err = s.read(ctx, w.r, w.at)
	if n := len(s.rows); n > 0 {
		w.at = s.rows[n-1].pos
	}
	w.over = s.err != nil || len(s.rows) < stride
	w.order <- s
	return true
}

// rest waits, or gives why ctx ended.
func rest(ctx context.Context, d time.Duration) error {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-ctx.Done():
		return ctx.Err()
	case <-timer.C:
		return nil
	}
}

// number is a whole number out of SQLite, or none. [sql.Rows] would spell it first.
type number int64

const none number = -1

// Scan takes what the driver gives.
func (n *number) Scan(src any) error {
	switch v := src.(type) {
	case nil:
		*n = none
	case int64:
		*n = number(v)
	default:
		return fmt.Errorf("store: a %T is no number", src)
	}
	return nil
}

// read fills the stretch with the rows after a position. It is over so soon that
// ctx is watched before it only, which would cost more than the reading.
func (s *stretch) read(ctx context.Context, r Reader, after int64) error {
	s.rows, s.room = s.rows[:0], s.room[:0]
	if err := ctx.Err(); err != nil {
		return err
	}
	var pos, hash, subject, salt, body number
	var all sql.RawBytes
	return each(context.WithoutCancel(ctx), r.q, func(rows cells) error {
		if err := rows.Scan(&pos, &hash, &subject, &salt, &body, &all); err != nil {
			return err
		}
		from := len(s.room)
		s.room = append(s.room, all...)
		rest := s.room[from:]
		cut := func(n number) []byte {
			if n == none {
				return nil
			}
			n = min(n, number(len(rest)))
			b := rest[:n:n]
			rest = rest[n:]
			return b
		}
		w := row{pos: int64(pos), hash: cut(hash), subject: cut(subject)}
		w.envelope = cut(max(0, number(len(rest))-max(0, salt)-max(0, body)))
		w.salt, w.body = cut(salt), cut(body)
		s.rows = append(s.rows, checked{row: w})
		return nil
	}, sqlWalkLog, after, stride)
}
