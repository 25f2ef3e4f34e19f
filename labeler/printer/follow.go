package printer

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"cribgate/labeler/printer/ipp"
)

// Errors of following a job.
var (
	// ErrPatience: nothing changed for too long.
	ErrPatience = errors.New("nothing changed for too long")
	// errForgotten: the printer does not know the job any more.
	errForgotten = errors.New("the printer does not know the job any more")
	// errOther: the printer's job of that number is not ours.
	errOther = errors.New("the printer was started anew, and its job of that number is another")
	// errNoState: an answer without what was asked.
	errNoState = fmt.Errorf("%w: it gives no state of the job", ErrAnswer)
)

// reach is how long a printer may give no answer before it counts as vanished,
// and stopTime how long it may take over a cancelled job (site policy, no
// source).
const (
	reach    = 2 * time.Minute
	stopTime = 30 * time.Second
)

// States of a job (RFC 8011; as quoted).
const (
	jobPending = iota + 3
	jobHeld
	jobProcessing
	jobStopped
	jobCancelled
	jobAborted
	jobCompleted
)

// A view is what a printer says of a job at one time.
type view struct {
	job      int32
	state    int32 // 0: not said
	keywords []string
	reasons  []string // in words, of the job and of the printer
	stopped  bool     // the printer
	pages    int32    // how many have come out, as far as it says
	name     string
	uuid     string
	up       int32 // how long the printer has been running
	changed  bool  // the printer put something else in the place of what was asked
}

func readView(m ipp.Message) view {
	var v view
	v.job, _ = m.Int(ipp.OfJob, "job-id")
	v.state, _ = m.Int(ipp.OfJob, "job-state")
	v.keywords = m.Strings(ipp.OfJob, "job-state-reasons")
	v.reasons = inWords(v.keywords)
	v.name = m.Text(ipp.OfJob, "job-name")
	v.uuid = m.Text(ipp.OfJob, "job-uuid")
	v.up, _ = m.Int(ipp.OfJob, "job-printer-up-time")
	for _, counter := range []string{"job-impressions-completed", "job-media-sheets-completed"} {
		n, _ := m.Int(ipp.OfJob, counter)
		v.pages += n
	}
	return v
}

// end returns how the job ended; false where it has not.
func (v view) end() (End, bool) {
	switch v.state {
	case jobCancelled:
		return Cancelled, true
	case jobAborted:
		return Aborted, true
	case jobCompleted:
		if slices.Contains(v.keywords, reasonErrors) || slices.Contains(v.keywords, reasonQueued) {
			return Unknown, true
		}
		return Printed, true
	}
	return Unknown, false
}

// news is the view as it is told.
func (v view) news() News {
	n := News{Job: v.job, Reasons: v.reasons}
	switch {
	case v.stopped || v.state == jobStopped:
		n.State = Stopped
	case v.state == jobPending:
		n.State = Pending
	case v.state == jobHeld:
		n.State = Held
	default:
		n.State = Processing
	}
	return n
}

// same reports whether the job is still the one that was sent. Where the printer
// gives no names of jobs, one that has run for a shorter time than before was
// started anew.
func (v view) same(o order, last view) bool {
	if v.name != "" {
		return strings.Contains(v.name, o.name[:tokenLength])
	}
	return v.up >= last.up && (last.uuid == "" || v.uuid == last.uuid)
}

// follow asks after the job until it ends.
func (p *Printer) follow(ctx context.Context, o order, v view, out Outcome) Outcome {
	out.Job = v.job
	var told News
	var pace pacer
	var idle, silent time.Duration
	for {
		if end, ended := v.end(); ended {
			out.End, out.Reasons = end, v.reasons
			return out
		}
		if n := v.news(); silent == 0 && v.state != 0 && !n.equal(told) {
			p.options.Say(n)
			told = n
		}
		d := pace.next()
		if !p.pause(ctx, d) {
			return p.cancel(ctx, o, v, out, context.Cause(ctx))
		}
		start := time.Now()
		now, err := p.look(ctx, o, v)
		d += time.Since(start)
		switch {
		case ctx.Err() != nil:
			return p.cancel(ctx, o, v, out, context.Cause(ctx))
		case errors.Is(err, errForgotten) || errors.Is(err, errOther):
			out.End, out.Why = Unknown, err
			return out
		case err != nil:
			if silent == 0 {
				told = News{Job: out.Job, State: Silent}
				p.options.Say(told)
			}
			if silent += d; silent >= min(reach, p.options.Patience) {
				out.End, out.Why = Unknown, err
				return out
			}
			continue
		}
		silent = 0
		if now.state != v.state || now.pages != v.pages || !now.news().equal(v.news()) {
			pace, idle = pacer{}, 0
		} else if idle += d; idle >= p.options.Patience {
			return p.cancel(ctx, o, now, out, fmt.Errorf("%w: %s", ErrPatience, p.options.Patience))
		}
		v = now
	}
}

// look asks how the job stands, and, where it is not at its end, how the printer
// is.
func (p *Printer) look(ctx context.Context, o order, last view) (view, error) {
	m := p.request(ipp.GetJobAttributes, last.job)
	m.Groups[0].Add("requested-attributes", ipp.Keywords("job-id", "job-state", "job-state-reasons", "job-name",
		"job-uuid", "job-printer-up-time", "job-impressions-completed", "job-media-sheets-completed")...)
	answer, err := p.ask(ctx, m)
	var status *StatusError
	if errors.As(err, &status) && (status.Status == ipp.NotFound || status.Status == ipp.Gone) {
		return view{}, fmt.Errorf("%w: %w", errForgotten, err)
	}
	if err != nil {
		return view{}, err
	}
	v := readView(answer)
	switch {
	case v.state < jobPending || v.state > jobCompleted:
		return view{}, errNoState
	case v.job != 0 && v.job != last.job || !v.same(o, last):
		return view{}, errOther
	}
	v.job = last.job
	if _, ended := v.end(); ended {
		return v, nil
	}
	m = p.request(ipp.GetPrinterAttributes, 0)
	m.Groups[0].Add("requested-attributes", ipp.Keywords("printer-state", "printer-state-reasons")...)
	if answer, err = p.ask(ctx, m); err != nil {
		return view{}, err
	}
	var more []string
	v.stopped, more = health(answer)
	for _, r := range more {
		if !slices.Contains(v.reasons, r) {
			v.reasons = append(v.reasons, r)
		}
	}
	return v, nil
}

// cancel has the job cancelled, and waits a moment for how it ended: it may have
// been printed before.
func (p *Printer) cancel(ctx context.Context, o order, v view, out Outcome, why error) Outcome {
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
	defer stop()
	p.options.Say(News{Job: v.job, State: Cancelling})
	_, err := p.ask(ctx, p.request(ipp.CancelJob, v.job))
	for waited := time.Duration(0); waited < stopTime; waited += firstPause {
		now, lookErr := p.look(ctx, o, v)
		if end, ended := now.end(); lookErr == nil && ended {
			out.End, out.Reasons, out.Why = end, now.reasons, why
			return out
		}
		if lookErr != nil {
			err = lookErr
		}
		if errors.Is(lookErr, errForgotten) || errors.Is(lookErr, errOther) || !p.pause(ctx, firstPause) {
			break
		}
	}
	out.End, out.Why = Unknown, errors.Join(why, err)
	return out
}
