package printer

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/x509"
	"crypto/x509/pkix"
	"encoding/pem"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/big"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"
)

// inside says that the test runs in a network of its own.
const inside = "CRIBGATE_PRINTER_INSIDE"

// realTests are what is tried against ippeveprinter, a printer in software of
// Debian's cups-ipp-utils: it takes jobs, and a program of ours is its device.
var realTests = []struct {
	name string
	run  func(*testing.T)
}{
	{"Printed", realPrinted},
	{"Asks", realAsks},
	{"StopsAndGoesOn", realStops},
	{"Fails", realFails},
	{"KilledWhilePrinting", realKilledWhilePrinting},
	{"KilledWhileSending", realKilledWhileSending},
	{"CancelledByUs", realCancelled},
	{"AnotherFormat", realFormat},
	{"TLS", realTLS},
}

// TestRealPrinter prints to a real printer program. It runs itself again in
// namespaces of Linux: a network that has nothing but its own loopback, so that
// nothing leaves it, and process numbers that all end with it. The printer
// announces itself, and does not start without avahi-daemon and D-Bus.
func TestRealPrinter(t *testing.T) {
	if os.Getenv(inside) != "" {
		setUp(t)
		for _, c := range realTests {
			t.Run(c.name, c.run)
		}
		return
	}
	cannot := t.Skipf
	if os.Getenv("CRIBGATE_REQUIRE") != "" {
		cannot = t.Fatalf
	}
	if os.Getuid() != 0 {
		cannot("NOT CHECKED: printing to a real printer program needs root, for a network of its own")
	}
	for _, program := range []string{"ippeveprinter", "avahi-daemon", "dbus-daemon", "ip"} {
		if _, err := exec.LookPath(program); err != nil {
			cannot("NOT CHECKED: printing to a real printer program: %v", err)
		}
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	runtime.LockOSThread() // whose end would be the child's
	defer runtime.UnlockOSThread()
	cmd := exec.CommandContext(t.Context(), self, "-test.run=^TestRealPrinter$", "-test.v", "-test.timeout=5m")
	cmd.Env = append(os.Environ(), inside+"=1")
	cmd.SysProcAttr = &syscall.SysProcAttr{
		Cloneflags: syscall.CLONE_NEWNET | syscall.CLONE_NEWNS | syscall.CLONE_NEWPID,
		Pdeathsig:  syscall.SIGKILL,
	}
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		cannot("NOT CHECKED: printing to a real printer program: no namespaces: %v", err)
	}
	if err := cmd.Wait(); err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
	for _, c := range realTests {
		if !strings.Contains(out.String(), "--- PASS: TestRealPrinter/"+c.name+" ") {
			t.Errorf("%s did not pass\n%s", c.name, out.String())
		}
	}
}

// setUp brings the loopback up and starts what the printer needs.
func setUp(t *testing.T) {
	t.Helper()
	if err := syscall.Mount("", "/", "", syscall.MS_REC|syscall.MS_PRIVATE, ""); err != nil {
		t.Fatalf("keep mounts to ourselves: %v", err)
	}
	if err := syscall.Mount("none", "/run", "tmpfs", 0, ""); err != nil {
		t.Fatalf("mount /run: %v", err)
	}
	if out, err := exec.Command("ip", "link", "set", "lo", "up", "multicast", "on").CombinedOutput(); err != nil {
		t.Fatalf("loopback: %v: %s", err, out)
	}
	if err := os.Mkdir("/run/dbus", 0o755); err != nil {
		t.Fatal(err)
	}
	start(t, "dbus-daemon", "--system", "--nofork", "--nopidfile")
	until(t, "the D-Bus", exists("/run/dbus/system_bus_socket"))
	start(t, "avahi-daemon", "--no-drop-root", "--no-chroot", "--no-rlimits")
	until(t, "avahi", exists("/run/avahi-daemon/socket"))
}

// start runs a program until the test ends.
func start(t *testing.T, program string, args ...string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(program, args...)
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	cmd.WaitDelay = time.Second // what it started may keep its output open
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		cmd.Process.Kill()
		cmd.Wait()
		if t.Failed() {
			t.Logf("%s:\n%s", program, out.String())
		}
	})
	return cmd
}

// until waits for something that has to come.
func until(t *testing.T, what string, is func() bool) {
	t.Helper()
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(30 * time.Second); !is(); <-tick.C {
		if time.Now().After(end) {
			t.Fatalf("%s did not come", what)
		}
	}
}

func exists(file string) func() bool {
	return func() bool {
		_, err := os.Stat(file)
		return err == nil
	}
}

// A device is ippeveprinter, with a shell script for a device.
type device struct {
	dir, port string
	cmd       *exec.Cmd
}

func (d device) url(scheme string) string { return scheme + "://localhost:" + d.port + "/ipp/print" }

// file is a file of the device's own.
func (d device) file(name string) string { return filepath.Join(d.dir, name) }

// newDevice starts one. The script gets the document as $1, and its own folder
// as the current one.
func newDevice(t *testing.T, script string, args ...string) device {
	t.Helper()
	d := device{dir: t.TempDir(), port: freePort(t)}
	script = "#!/bin/sh\ncd " + d.dir + "\n" + script + "\n"
	if err := os.WriteFile(d.file("device"), []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(d.file("spool"), 0o755); err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(args, "-f") {
		args = append(args, "-f", "application/pdf,image/png")
	}
	args = append(args, "-p", d.port, "-n", "localhost", "-d", d.file("spool"), "-c", d.file("device"), "Tag printer "+d.port)
	d.cmd = start(t, "ippeveprinter", args...)
	until(t, "the printer", func() bool {
		conn, err := net.Dial("tcp", "localhost:"+d.port)
		if err == nil {
			conn.Close()
		}
		return err == nil
	})
	return d
}

func freePort(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer l.Close()
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		t.Fatal(err)
	}
	return port
}

// soon is a clock that hurries, and still lets others work.
func soon(d time.Duration) <-chan time.Time { return time.After(d / 20) }

func realPrinted(t *testing.T) {
	d := newDevice(t, `cp "$1" got`)
	p, said := at(t, d.url("ipp"), Options{After: soon})
	about, err := p.Ask(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	if !about.Takes(PDF) || !about.Takes(PNG) || !about.Accepting || about.Stopped || about.Name != "Tag printer "+d.port {
		t.Errorf("%+v", about)
	}
	doc := paper(3 << 20)
	out := p.Send(t.Context(), doc)
	if out.End != Printed || out.Job == 0 || out.Err() != nil {
		t.Fatalf("%+v: %s", out, out)
	}
	got, err := os.ReadFile(d.file("got"))
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(got, contents(t, doc)) {
		t.Errorf("%d bytes came to the device, %d were sent", len(got), len(contents(t, doc)))
	}
	if out.KeepsSize {
		t.Error("it does not say that it keeps sizes, and we do")
	}
	if list := said.list(); len(list) < 2 || list[0] != "the document is being sent" {
		t.Errorf("said %q", list)
	}
	// A picture too, on the same printer.
	png := doc
	png.Name, png.Format = "tag.png", PNG
	if again := p.Send(t.Context(), png); again.End != Printed || again.Job == out.Job {
		t.Errorf("%s", again)
	}
}

// What is asked of the printer comes to the device.
func realAsks(t *testing.T) {
	d := newDevice(t, `env | sort > asked`)
	p, _ := at(t, d.url("ipp"), Options{After: soon})
	if out := p.Send(t.Context(), paper(100)); out.End != Printed {
		t.Fatalf("%s", out)
	}
	asked, err := os.ReadFile(d.file("asked"))
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"IPP_SIDES=one-sided", "IPP_COPIES=1", "IPP_JOB_ORIGINATING_USER_NAME=labeler", "IPP_DOCUMENT_FORMAT_SUPPLIED=application/pdf"} {
		if !strings.Contains("\n"+string(asked), "\n"+want+"\n") {
			t.Errorf("the device was not told %s:\n%s", want, asked)
		}
	}
}

// The device runs out of media, is seen to, and goes on.
func realStops(t *testing.T) {
	d := newDevice(t, `mkfifo loaded
echo "STATE: +media-empty,cover-open" >&2
read x < loaded
echo "STATE: -media-empty,cover-open" >&2
cp "$1" got`)
	p, said := at(t, d.url("ipp"), Options{})
	p.options.After = soon
	heard := false
	p.options.Say = func(n News) {
		said.say(n)
		if slices.Contains(n.Reasons, "there is no media") && !heard {
			heard = true
			until(t, "the device", exists(d.file("loaded")))
			if err := os.WriteFile(d.file("loaded"), []byte("go\n"), 0); err != nil {
				t.Error(err)
			}
		}
	}
	if out := p.Send(t.Context(), paper(100)); out.End != Printed || !heard {
		t.Errorf("%s; said %q", out, said.list())
	}
}

func realFails(t *testing.T) {
	d := newDevice(t, `cp "$1" got; exit 1`)
	p, _ := at(t, d.url("ipp"), Options{After: soon})
	out := p.Send(t.Context(), paper(100))
	if out.End != Aborted || !errors.Is(out.Err(), ErrNotPrinted) || out.Job == 0 {
		t.Errorf("%s", out)
	}
	if !exists(d.file("got"))() {
		t.Error("the device never had it")
	}
}

func realKilledWhilePrinting(t *testing.T) {
	d := newDevice(t, `mkfifo never; echo > begun; read x < never`)
	p, said := at(t, d.url("ipp"), Options{Patience: 20 * time.Second, After: soon})
	killed := false
	p.options.Say = func(n News) {
		said.say(n)
		if n.State == Processing && !killed {
			killed = true
			until(t, "the device", exists(d.file("begun")))
			d.cmd.Process.Kill()
		}
	}
	out := p.Send(t.Context(), paper(100))
	if out.End != Unknown || !errors.Is(out.Err(), ErrUnknown) || out.Job == 0 || !killed {
		t.Errorf("%s; said %q", out, said.list())
	}
}

// killer is a document whose printer dies half way through.
type killer struct {
	io.Reader
	left int
	kill func()
}

func (k *killer) Read(b []byte) (int, error) {
	n, err := k.Reader.Read(b)
	if k.left -= n; k.left < 0 && k.kill != nil {
		k.kill()
		k.kill = nil
	}
	return n, err
}

func (k *killer) Close() error { return nil }

func realKilledWhileSending(t *testing.T) {
	d := newDevice(t, `cp "$1" got`)
	p, _ := at(t, d.url("ipp"), Options{After: soon})
	doc := paper(2 * large)
	whole := contents(t, doc)
	doc.Open = func() (io.ReadCloser, error) {
		return &killer{Reader: bytes.NewReader(whole), left: large, kill: func() { d.cmd.Process.Kill() }}, nil
	}
	out := p.Send(t.Context(), doc)
	if out.End != Unknown || !errors.Is(out.Err(), ErrUnknown) {
		t.Errorf("%s", out)
	}
	if _, err := os.Stat(d.file("got")); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("the device has it: %v", err)
	}
}

func realCancelled(t *testing.T) {
	d := newDevice(t, `mkfifo never; echo > begun; read x < never`)
	p, _ := at(t, d.url("ipp"), Options{Patience: time.Second, After: soon})
	out := p.Send(t.Context(), paper(100))
	if out.End == Printed || !errors.Is(out.Err(), ErrPatience) {
		t.Errorf("%s", out)
	}
	t.Logf("it says: %s", out)
}

func realFormat(t *testing.T) {
	d := newDevice(t, `cp "$1" got`, "-f", "image/jpeg,image/pwg-raster")
	p, _ := at(t, d.url("ipp"), Options{After: soon})
	out := p.Send(t.Context(), paper(100))
	if out.End != Refused || !errors.Is(out.Err(), ErrFormat) || !strings.Contains(out.String(), "image/jpeg") {
		t.Errorf("%s", out)
	}
}

// realTLS speaks ipps with a printer whose certificate an authority of our own
// has signed.
func realTLS(t *testing.T) {
	keys := t.TempDir()
	pool := makeCertificate(t, keys)
	d := newDevice(t, `cp "$1" got`, "-K", keys)
	p, _ := at(t, d.url("ipps"), Options{Authorities: pool, After: soon})
	if out := p.Send(t.Context(), paper(100)); out.End != Printed {
		t.Errorf("%s", out)
	}
	p, _ = at(t, d.url("ipps"), Options{After: soon})
	if out := p.Send(t.Context(), paper(100)); out.End != Refused || !errors.Is(out.Err(), ErrCertificate) {
		t.Errorf("%s", out)
	}
}

// makeCertificate writes localhost.crt and localhost.key, and returns who
// vouches for them.
func makeCertificate(t *testing.T, dir string) *x509.CertPool {
	t.Helper()
	newKey := func() *ecdsa.PrivateKey {
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		if err != nil {
			t.Fatal(err)
		}
		return key
	}
	made := func(cert, parent *x509.Certificate, key, by *ecdsa.PrivateKey) *x509.Certificate {
		cert.NotBefore, cert.NotAfter = time.Now().Add(-time.Hour), time.Now().Add(24*time.Hour)
		der, err := x509.CreateCertificate(rand.Reader, cert, parent, &key.PublicKey, by)
		if err != nil {
			t.Fatal(err)
		}
		got, err := x509.ParseCertificate(der)
		if err != nil {
			t.Fatal(err)
		}
		return got
	}
	authorityKey, key := newKey(), newKey()
	template := &x509.Certificate{
		SerialNumber: big.NewInt(1), Subject: pkix.Name{CommonName: "Test authority"},
		IsCA: true, BasicConstraintsValid: true, KeyUsage: x509.KeyUsageCertSign,
	}
	authority := made(template, template, authorityKey, authorityKey)
	leaf := made(&x509.Certificate{
		SerialNumber: big.NewInt(2), Subject: pkix.Name{CommonName: "localhost"}, DNSNames: []string{"localhost"},
		KeyUsage: x509.KeyUsageDigitalSignature, ExtKeyUsage: []x509.ExtKeyUsage{x509.ExtKeyUsageServerAuth},
	}, authority, key, authorityKey)
	der, err := x509.MarshalPKCS8PrivateKey(key)
	if err != nil {
		t.Fatal(err)
	}
	for name, block := range map[string]*pem.Block{
		"localhost.crt": {Type: "CERTIFICATE", Bytes: leaf.Raw},
		"localhost.key": {Type: "PRIVATE KEY", Bytes: der},
	} {
		if err := os.WriteFile(filepath.Join(dir, name), pem.EncodeToMemory(block), 0o600); err != nil {
			t.Fatal(fmt.Errorf("write %s: %w", name, err))
		}
	}
	pool := x509.NewCertPool()
	pool.AddCert(authority)
	return pool
}
