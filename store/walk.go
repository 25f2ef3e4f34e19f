package store

import (
	"context"
	"database/sql"
	"runtime"
	"sync"
	"time"

	"cribgate/core/event"
)

// stride is how many rows a walk along the log takes at a time: few enough that
// a walk is no long reader, and stays in the caches of the cores.
const stride = 250

// stretch is a part of the log on its way from the file, past the cores that
// look at each row alone, to whoever follows the log in its order.
type stretch struct {
	rows []checked
	room []byte // what the bytes of rows lie in
	err  error  // why nothing comes after it
	done chan struct{}
}

// walk reads the log from the row after a position to its end. While f follows
// one stretch of it, in order, others are checked on every core and the next is
// read. What f is given is good until it returns. Nothing is written. A gentle
// walk has one core, and rests for four times as long as each stretch takes.
func (r Reader) walk(ctx context.Context, after int64, gently bool, f func(rows []checked) error) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	cores := runtime.GOMAXPROCS(0)
	if gently {
		cores = 1
	}
	under := 2*cores + 2 // stretches that are under way
	free, read, order := make(chan *stretch, under), make(chan *stretch, under), make(chan *stretch, under)
	for range under {
		free <- &stretch{done: make(chan struct{}, 1)}
	}
	var all sync.WaitGroup
	defer all.Wait()
	all.Go(func() {
		defer close(read)
		defer close(order)
		r.stretches(ctx, after, free, func(s *stretch) { read <- s; order <- s })
	})
	for range cores {
		all.Go(func() {
			var d event.Decoder
			for s := range read {
				for i := range s.rows {
					s.rows[i].check(&d)
				}
				s.done <- struct{}{}
			}
		})
	}
	var err error
	begun := time.Now()
	for s := range order {
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

// stretches reads the log into free stretches and gives them away, to its end or
// to an error, which the last one holds.
func (r Reader) stretches(ctx context.Context, at int64, free <-chan *stretch, give func(*stretch)) {
	for s := range free {
		s.err = s.read(ctx, r, at)
		n := len(s.rows)
		if n > 0 {
			at = s.rows[n-1].pos
		}
		last := s.err != nil || n < stride
		give(s)
		if last {
			return
		}
	}
}

// read fills the stretch with the rows after a position. It is over so soon that
// ctx is watched before it only, which would cost more than the reading.
func (s *stretch) read(ctx context.Context, r Reader, after int64) error {
	s.rows, s.room = s.rows[:0], s.room[:0]
	if err := ctx.Err(); err != nil {
		return err
	}
	var hash, subject, envelope, salt, body sql.RawBytes
	return each(context.WithoutCancel(ctx), r.q, func(rows cells) error {
		s.rows = append(s.rows, checked{})
		n := len(s.rows) - 1
		w := &s.rows[n].row
		if err := rows.Scan(&w.pos, &hash, &subject, &envelope, &salt, &body); err != nil {
			s.rows = s.rows[:n]
			return err
		}
		w.hash, w.subject, w.envelope, w.salt, w.body = s.keep(hash), s.keep(subject), s.keep(envelope), s.keep(salt), s.keep(body)
		return nil
	}, sqlSince, after, stride)
}

// keep copies b into the stretch; nil stays nil.
func (s *stretch) keep(b []byte) []byte {
	if b == nil {
		return nil
	}
	from := len(s.room)
	s.room = append(s.room, b...)
	return s.room[from:len(s.room):len(s.room)]
}
