package printer

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"cribgate/labeler/printer/ipp"
	"cribgate/labeler/printer/printertest"
)

// Each way that a job can end after the printer has it, and nothing but state 9
// is printed.
func TestEnds(t *testing.T) {
	s := printertest.State
	for _, c := range []struct {
		name  string
		polls []printertest.Reply
		want  End
		says  string
	}{
		{"printed at last", []printertest.Reply{s(3), s(5), s(5), s(9, "job-completed-successfully")}, Printed, "printed (job 1)"},
		{"aborted", []printertest.Reply{s(5), s(8, "aborted-by-system", "document-format-error")}, Aborted,
			"not printed: the printer broke job 1 off; throw away what came out (broken off by the printer, the document has a fault)"},
		{"cancelled at the printer", []printertest.Reply{s(5), s(7, "job-canceled-at-device")}, Cancelled,
			"not printed: job 1 was cancelled; throw away what came out (cancelled at the printer)"},
		{"finished with errors", []printertest.Reply{s(9, "job-completed-with-errors")}, Unknown,
			"it is not known whether it was printed: the printer has not said how job 1 ended (there were errors)"},
		{"handed on", []printertest.Reply{s(9, "queued-in-device")}, Unknown, "it lies with a device that does not say more"},
		{"forgotten", []printertest.Reply{s(5), printertest.Status(ipp.NotFound)}, Unknown, "does not know the job any more"},
		{"gone", []printertest.Reply{printertest.Status(ipp.Gone)}, Unknown, "does not know the job any more"},
		{"silent for good", []printertest.Reply{s(5), printertest.Drop()}, Unknown, "it is not known whether it was printed"},
		{"silent for a while", []printertest.Reply{printertest.Drop(), printertest.Drop(), s(5), printertest.Drop(), s(9)}, Printed, "printed (job 1)"},
		{"a state that there is not", []printertest.Reply{s(10)}, Unknown, "no state of the job"},
		{"state zero", []printertest.Reply{s(0)}, Unknown, "no state of the job"},
	} {
		t.Run(c.name, func(t *testing.T) {
			fake := printertest.New(t)
			fake.Script(ipp.GetJobAttributes, c.polls...)
			p, _ := at(t, fake.URL, Options{})
			out := p.Send(t.Context(), paper(10))
			if out.End != c.want || out.Job != 1 || !strings.Contains(out.String(), c.says) {
				t.Errorf("end %d, want %d: %s", out.End, c.want, out)
			}
			switch err := out.Err(); c.want {
			case Printed:
				if err != nil {
					t.Errorf("error %v", err)
				}
			case Unknown:
				if !errors.Is(err, ErrUnknown) || errors.Is(err, ErrNotPrinted) {
					t.Errorf("error %v", err)
				}
			default:
				if !errors.Is(err, ErrNotPrinted) || errors.Is(err, ErrUnknown) {
					t.Errorf("error %v", err)
				}
			}
		})
	}
}

// The zero Outcome, and one of a number that is no end, are unknown.
func TestZeroOutcomeIsUnknown(t *testing.T) {
	for _, o := range []Outcome{{}, {End: 200}} {
		if err := o.Err(); !errors.Is(err, ErrUnknown) {
			t.Errorf("%+v: %v", o, err)
		}
	}
}

func TestStoppedAndResumed(t *testing.T) {
	fake := printertest.New(t)
	s, h := printertest.State, printertest.Health
	fake.Script(ipp.GetJobAttributes, s(4, "job-hold-until-specified"), s(5), s(6, "printer-stopped"), s(6, "printer-stopped"), s(5), s(5), s(9))
	fake.Script(ipp.GetPrinterAttributes, printertest.Reply{}, h(3), h(4), h(5, "media-empty-error", "cover-open"), h(5, "media-empty-error", "cover-open"), h(4, "toner-low-report"), h(4, "x-of-its-own\x1b[2J"))
	p, said := at(t, fake.URL, Options{})
	if out := p.Send(t.Context(), paper(10)); out.End != Printed {
		t.Fatalf("%s", out)
	}
	want := []string{
		"the document is being sent",
		"job 1: the job is being printed",
		"job 1: the job is held at the printer: it is held until a set time",
		"job 1: the job is being printed",
		"job 1: the printer has stopped: the printer has stopped, there is no media, the cover is open",
		"job 1: the job is being printed",
		"job 1: the job is being printed: x-of-its-own [2j",
	}
	if got := said.list(); !slices.Equal(got, want) {
		t.Errorf("said\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

// A device that fails on the way names the job, which is followed.
func TestDeviceErrorWithJob(t *testing.T) {
	fake := printertest.New(t)
	fake.Script(ipp.PrintJob, printertest.Reply{Do: func(a *printertest.Answer) { a.Message.Code = uint16(ipp.DeviceError) }})
	fake.Script(ipp.GetJobAttributes, printertest.State(6, "printer-stopped"), printertest.State(8))
	p, _ := at(t, fake.URL, Options{})
	if out := p.Send(t.Context(), paper(10)); out.End != Aborted || out.Job != 1 {
		t.Errorf("%s", out)
	}
}

func TestVanishesBetweenQuestions(t *testing.T) {
	fake := printertest.New(t)
	fake.Script(ipp.GetJobAttributes, printertest.State(5), printertest.Reply{Do: func(a *printertest.Answer) {
		a.Set(ipp.OfJob, "job-state", ipp.Enum(5))
		go fake.Stop() // it waits for this answer
	}}, printertest.Drop())
	p, said := at(t, fake.URL, Options{})
	out := p.Send(t.Context(), paper(10))
	if out.End != Unknown || out.Job != 1 {
		t.Errorf("%s", out)
	}
	if got := said.list(); got[len(got)-1] != "job 1: the printer gives no answer" {
		t.Errorf("said %q", got)
	}
}

// After it was switched off and on, a printer counts its jobs anew: another's
// job of the same number, finished, is not ours.
func TestAnotherJobOfThatNumber(t *testing.T) {
	job := func(state int32, name, uuid string, up int32) printertest.Reply {
		return printertest.Reply{Do: func(a *printertest.Answer) {
			a.Set(ipp.OfJob, "job-state", ipp.Enum(state))
			a.Set(ipp.OfJob, "job-name")
			if name != "" {
				a.Set(ipp.OfJob, "job-name", ipp.Name(name))
			}
			if uuid != "" {
				a.Set(ipp.OfJob, "job-uuid", ipp.URI(uuid))
			}
			a.Set(ipp.OfJob, "job-printer-up-time", ipp.Integer(up))
		}}
	}
	for _, c := range []struct {
		name  string
		polls []printertest.Reply
		want  End
	}{
		{"another name", []printertest.Reply{{}, job(9, "somebody's letter", "", 900)}, Unknown},
		{"no names, shorter running", []printertest.Reply{job(5, "", "", 900), job(9, "", "", 20)}, Unknown},
		{"no names, longer running", []printertest.Reply{job(5, "", "", 900), job(9, "", "", 901)}, Printed},
		{"no names, another identity", []printertest.Reply{job(5, "", "urn:uuid:a", 1), job(9, "", "urn:uuid:b", 2)}, Unknown},
		{"no names, the same identity", []printertest.Reply{job(5, "", "urn:uuid:a", 1), job(9, "", "urn:uuid:a", 2)}, Printed},
	} {
		fake := printertest.New(t)
		fake.Script(ipp.GetJobAttributes, c.polls...)
		p, _ := at(t, fake.URL, Options{})
		if out := p.Send(t.Context(), paper(10)); out.End != c.want {
			t.Errorf("%s: %s", c.name, out)
		}
	}
	// The names differ from each other, and so can tell.
	if a, b := newJobName("tags.pdf"), newJobName("tags.pdf"); a == b || !strings.HasSuffix(a, " tags.pdf") {
		t.Errorf("names %q, %q", a, b)
	}
	if n := len(newJobName(strings.Repeat("ü", 400))); n > maxName {
		t.Errorf("a name of %d bytes", n)
	}
}

// Ending ctx has the job cancelled, and what it comes to is what the printer
// says.
func TestInterrupted(t *testing.T) {
	for _, c := range []struct {
		name string
		then []printertest.Reply // of the polls after
		want End
	}{
		{"cancelled", []printertest.Reply{printertest.State(5, "processing-to-stop-point"), printertest.State(7, "job-canceled-by-user")}, Cancelled},
		{"too late", []printertest.Reply{printertest.State(9)}, Printed},
		{"never said", []printertest.Reply{printertest.State(5)}, Unknown},
		{"vanished", []printertest.Reply{printertest.Drop()}, Unknown},
	} {
		fake := printertest.New(t)
		ctx, stop := context.WithCancelCause(t.Context())
		why := errors.New("somebody pressed Ctrl-C")
		first := printertest.Reply{Do: func(a *printertest.Answer) { stop(why) }}
		fake.Script(ipp.GetJobAttributes, append([]printertest.Reply{first}, c.then...)...)
		p, said := at(t, fake.URL, Options{})
		out := p.Send(ctx, paper(10))
		if out.End != c.want || !errors.Is(out.Why, why) || fake.Asked(ipp.CancelJob) != 1 {
			t.Errorf("%s: end %d, %d times cancelled: %s", c.name, out.End, fake.Asked(ipp.CancelJob), out)
		}
		if got := said.list(); got[len(got)-1] != "job 1: the job is being cancelled" {
			t.Errorf("%s: said %q", c.name, got)
		}
	}
}

// A job that stands for longer than patience lasts is cancelled; pages that come
// out are a change.
func TestPatience(t *testing.T) {
	fake := printertest.New(t)
	var polls []printertest.Reply
	for n := range int32(100) {
		polls = append(polls, printertest.Reply{Do: func(a *printertest.Answer) {
			a.Set(ipp.OfJob, "job-state", ipp.Enum(5))
			a.Set(ipp.OfJob, "job-impressions-completed", ipp.Integer(n))
		}})
	}
	fake.Script(ipp.GetJobAttributes, append(polls, printertest.State(9))...)
	p, said := at(t, fake.URL, Options{Patience: 30 * time.Second})
	if out := p.Send(t.Context(), paper(10)); out.End != Printed {
		t.Errorf("%s", out)
	}
	if n := len(said.list()); n != 2 {
		t.Errorf("%d lines for one state", n)
	}

	fake = printertest.New(t)
	fake.Script(ipp.GetJobAttributes, printertest.State(6, "printer-stopped"))
	fake.Script(ipp.CancelJob, printertest.Reply{Do: func(*printertest.Answer) {
		fake.Script(ipp.GetJobAttributes, printertest.State(7))
	}})
	p, _ = at(t, fake.URL, Options{Patience: 30 * time.Second})
	if out := p.Send(t.Context(), paper(10)); out.End != Cancelled || !errors.Is(out.Err(), ErrPatience) {
		t.Errorf("%s", out)
	}
}

func ExampleOutcome() {
	fmt.Println(Outcome{End: Printed, Job: 12})
	fmt.Println(Outcome{End: Sent})
	fmt.Println(Outcome{Job: 12, Why: errForgotten})
	// Output:
	// printed (job 12)
	// sent; a raw socket does not say whether it was printed
	// it is not known whether it was printed: the printer has not said how job 12 ended: the printer does not know the job any more
}
