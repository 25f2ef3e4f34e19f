// Package printertest is a printer for tests, on this machine's own network: it
// speaks IPP, prints nothing, and fails in whatever way a test tells it to.
//
// A [Printer] takes PDF and PNG and finishes each job at the second question
// after it. [Printer.Script] puts other answers in front.
package printertest

import (
	"bufio"
	"io"
	"log"
	"net"
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"cribgate/labeler/printer/ipp"
)

// A Job is a document that arrived.
type Job struct {
	Name, Format string
	Document     []byte
	Request      ipp.Message
	asked        int // how often
}

// A Printer is one. Its methods may be called at any time.
type Printer struct {
	URL string // ipp://127.0.0.1:PORT/ipp/print

	server *httptest.Server
	mu     sync.Mutex
	jobs   []*Job
	log    []ipp.Operation
	script map[ipp.Operation][]Reply
}

// A Reply changes the answer that the printer would give. An early one is given
// before the document is read to its end. The zero Reply changes nothing.
type Reply struct {
	Early bool
	Do    func(*Answer)
}

// An Answer is what goes back.
type Answer struct {
	Message ipp.Message
	HTTP    int    // its status; 0 is 200
	Type    string // its content type; empty is IPP's
	Raw     []byte // sent instead of Message
	Drop    bool   // the connection is closed instead
}

// New starts a printer that ends with the test.
func New(t testing.TB) *Printer {
	t.Helper()
	p := &Printer{script: map[ipp.Operation][]Reply{}}
	p.server = httptest.NewServer(p)
	p.URL = "ipp" + strings.TrimPrefix(p.server.URL, "http") + "/ipp/print"
	t.Cleanup(p.server.Close)
	return p
}

// NewTLS starts one that speaks ipps and shows the returned server's own
// certificate.
func NewTLS(t testing.TB) (*Printer, *httptest.Server) {
	t.Helper()
	p := &Printer{script: map[ipp.Operation][]Reply{}}
	p.server = httptest.NewUnstartedServer(p)
	p.server.Config.ErrorLog = log.New(io.Discard, "", 0) // a client that does not trust it is what tests are about
	p.server.StartTLS()
	p.URL = "ipps" + strings.TrimPrefix(p.server.URL, "https") + "/ipp/print"
	t.Cleanup(p.server.Close)
	return p, p.server
}

// Script sets what the next answers to an operation are; the last holds on.
func (p *Printer) Script(op ipp.Operation, replies ...Reply) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.script[op] = replies
}

// Jobs are the documents that arrived, in their order.
func (p *Printer) Jobs() []Job {
	p.mu.Lock()
	defer p.mu.Unlock()
	list := make([]Job, len(p.jobs))
	for i, j := range p.jobs {
		list[i] = *j
	}
	return list
}

// Asked counts the requests of an operation.
func (p *Printer) Asked(op ipp.Operation) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	n := 0
	for _, o := range p.log {
		if o == op {
			n++
		}
	}
	return n
}

// Stop ends the printer in the midst of everything.
func (p *Printer) Stop() {
	p.server.Listener.Close()
	p.server.CloseClientConnections()
}

// next takes the reply that the script has for an operation.
func (p *Printer) next(op ipp.Operation) Reply {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.log = append(p.log, op)
	list := p.script[op]
	if len(list) == 0 {
		return Reply{}
	}
	if len(list) > 1 {
		p.script[op] = list[1:]
	}
	return list[0]
}

// ServeHTTP answers one request.
func (p *Printer) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	body := bufio.NewReader(r.Body)
	ask, err := ipp.Decode(body)
	if err != nil || r.Method != http.MethodPost || r.Header.Get("Content-Type") != ipp.MediaType {
		http.Error(w, "no IPP", http.StatusBadRequest)
		return
	}
	op := ipp.Operation(ask.Code)
	reply := p.next(op)
	answer := Answer{Message: ipp.Message{Version: ask.Version, ID: ask.ID, Groups: []ipp.Group{{Tag: ipp.OfOperation}}}}
	var document []byte
	if !reply.Early {
		if document, err = io.ReadAll(body); err != nil {
			return // the other side has gone
		}
	}
	p.answer(op, ask, document, &answer)
	if reply.Do != nil {
		reply.Do(&answer)
	}
	answer.send(w)
}

func (a *Answer) send(w http.ResponseWriter) {
	if a.Drop {
		conn, _, err := http.NewResponseController(w).Hijack()
		if err == nil {
			if tcp, ok := conn.(*net.TCPConn); ok {
				tcp.SetLinger(0)
			}
			conn.Close()
		}
		return
	}
	b := a.Raw
	if b == nil {
		var err error
		if b, err = a.Message.Encode(); err != nil {
			http.Error(w, err.Error(), http.StatusInternalServerError)
			return
		}
	}
	kind := a.Type
	if kind == "" {
		kind = ipp.MediaType
	}
	w.Header().Set("Content-Type", kind)
	if a.HTTP != 0 {
		w.WriteHeader(a.HTTP)
	}
	w.Write(b) // the other side may have gone
}

// answer is what a printer in good order says.
func (p *Printer) answer(op ipp.Operation, ask ipp.Message, document []byte, a *Answer) {
	p.mu.Lock()
	defer p.mu.Unlock()
	a.Set(ipp.OfOperation, "attributes-charset", ipp.Charset("utf-8"))
	a.Set(ipp.OfOperation, "attributes-natural-language", ipp.Language("en"))
	switch op {
	case ipp.GetPrinterAttributes:
		a.Set(ipp.OfPrinter, "printer-info", ipp.Text("Test printer"))
		a.Set(ipp.OfPrinter, "document-format-supported", ipp.Mime("application/pdf"), ipp.Mime("image/png"))
		a.Set(ipp.OfPrinter, "printer-is-accepting-jobs", ipp.Boolean(true))
		a.Set(ipp.OfPrinter, "printer-state", ipp.Enum(3))
		a.Set(ipp.OfPrinter, "printer-state-reasons", ipp.Keyword("none"))
		a.Set(ipp.OfPrinter, "print-scaling-supported", ipp.Keywords("auto", "none")...)
		a.Set(ipp.OfPrinter, "copies-supported", ipp.Value{Tag: ipp.RangeTag, Data: []byte{0, 0, 0, 1, 0, 0, 0, 9}})
		a.Set(ipp.OfPrinter, "sides-supported", ipp.Keywords("one-sided", "two-sided-long-edge")...)
	case ipp.PrintJob:
		p.jobs = append(p.jobs, &Job{
			Name: ask.Text(ipp.OfOperation, "job-name"), Format: ask.Text(ipp.OfOperation, "document-format"),
			Document: document, Request: ask,
		})
		a.job(int32(len(p.jobs)), 5, p.jobs[len(p.jobs)-1].Name)
	case ipp.GetJobAttributes:
		id, _ := ask.Int(ipp.OfOperation, "job-id")
		if id < 1 || int(id) > len(p.jobs) {
			a.Message.Code = uint16(ipp.NotFound)
			return
		}
		job := p.jobs[id-1]
		job.asked++
		if job.asked < 2 {
			a.job(id, 5, job.Name)
		} else {
			a.job(id, 9, job.Name)
		}
	}
}

func (a *Answer) job(id, state int32, name string) {
	a.Set(ipp.OfJob, "job-id", ipp.Integer(id))
	a.Set(ipp.OfJob, "job-state", ipp.Enum(state))
	a.Set(ipp.OfJob, "job-state-reasons", ipp.Keyword("none"))
	a.Set(ipp.OfJob, "job-name", ipp.Name(name))
}

// Set puts an attribute into the answer, in the place of one of that name. No
// values take it away.
func (a *Answer) Set(tag ipp.GroupTag, name string, values ...ipp.Value) {
	g := -1
	for i := range a.Message.Groups {
		if a.Message.Groups[i].Tag == tag {
			g = i
		}
	}
	if g < 0 {
		a.Message.Groups = append(a.Message.Groups, ipp.Group{Tag: tag})
		g = len(a.Message.Groups) - 1
	}
	group := &a.Message.Groups[g]
	for i := range group.Attributes {
		if group.Attributes[i].Name == name {
			group.Attributes = append(group.Attributes[:i], group.Attributes[i+1:]...)
			break
		}
	}
	if len(values) > 0 {
		group.Add(name, values...)
	}
}

// Status makes the answer one of that status, with nothing of a job or printer.
func Status(s ipp.Status) Reply {
	return Reply{Do: func(a *Answer) {
		a.Message.Code = uint16(s)
		a.Message.Groups = a.Message.Groups[:1]
	}}
}

// State makes the job's state and reasons these.
func State(state int32, reasons ...string) Reply {
	return Reply{Do: func(a *Answer) {
		a.Set(ipp.OfJob, "job-state", ipp.Enum(state))
		a.Set(ipp.OfJob, "job-state-reasons", ipp.Keywords(reasons...)...)
	}}
}

// Health makes the printer's state and reasons these.
func Health(state int32, reasons ...string) Reply {
	return Reply{Do: func(a *Answer) {
		a.Set(ipp.OfPrinter, "printer-state", ipp.Enum(state))
		a.Set(ipp.OfPrinter, "printer-state-reasons", ipp.Keywords(reasons...)...)
	}}
}

// Drop closes the connection instead of answering.
func Drop() Reply { return Reply{Do: func(a *Answer) { a.Drop = true }} }

// Vanish closes the connection while the document is under way.
func Vanish() Reply { return Reply{Early: true, Do: func(a *Answer) { a.Drop = true }} }
