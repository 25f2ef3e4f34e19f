package printertest

import (
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"
)

// A Device is ippeveprinter, a printer in software of Debian's cups-ipp-utils,
// with a shell script for its mechanics. It announces itself, and does not start
// without avahi-daemon and D-Bus: a test that has one runs within [Alone].
type Device struct {
	dir, port string
	cmd       *exec.Cmd
}

// URL is where it is, by ipp or ipps.
func (d Device) URL(scheme string) string { return scheme + "://localhost:" + d.port + "/ipp/print" }

// Name is what it calls itself.
func (d Device) Name() string { return "Tag printer " + d.port }

// File is a file of the device's own folder.
func (d Device) File(name string) string { return filepath.Join(d.dir, name) }

// Kill ends it in the midst of everything.
func (d Device) Kill() { d.cmd.Process.Kill() }

// NewDevice starts one. The script gets the document as $1, and its own folder
// as the current one. The arguments are ippeveprinter's.
func NewDevice(t *testing.T, script string, args ...string) Device {
	t.Helper()
	d := Device{dir: t.TempDir(), port: freePort(t)}
	script = "#!/bin/sh\ncd " + d.dir + "\n" + script + "\n"
	if err := os.WriteFile(d.File("device"), []byte(script), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(d.File("spool"), 0o755); err != nil {
		t.Fatal(err)
	}
	if !slices.Contains(args, "-f") {
		args = append(args, "-f", "application/pdf,image/png")
	}
	args = append(args, "-p", d.port, "-n", "localhost", "-d", d.File("spool"), "-c", d.File("device"), d.Name())
	d.cmd = start(t, "ippeveprinter", args...)
	Until(t, "the printer", func() bool {
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
