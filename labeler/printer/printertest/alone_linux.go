package printertest

import (
	"bytes"
	"os"
	"os/exec"
	"runtime"
	"strings"
	"syscall"
	"testing"
	"time"

	"cribgate/core/required"
)

// inside says that a test runs in a network of its own.
const inside = "CRIBGATE_PRINTER_INSIDE"

// A Case is one thing that is tried.
type Case struct {
	Name string
	Run  func(*testing.T)
}

// Alone runs the cases of a test where a [Device] can be: it runs the test again
// in namespaces of Linux, with a network that has nothing but its own loopback, so
// that nothing leaves it, and process numbers that all end with it. Where that
// cannot be, the test is skipped, or fails where CRIBGATE_REQUIRE says that all
// must be there.
func Alone(t *testing.T, cases []Case) {
	t.Helper()
	if os.Getenv(inside) != "" {
		setUp(t)
		for _, c := range cases {
			t.Run(c.Name, c.Run)
		}
		return
	}
	if os.Getuid() != 0 {
		required.Lacks(t, "printing to a real printer program needs root, for a network of its own")
	}
	for _, program := range []string{"ippeveprinter", "avahi-daemon", "dbus-daemon", "ip"} {
		required.Program(t, program)
	}
	self, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	runtime.LockOSThread() // whose end would be the child's
	defer runtime.UnlockOSThread()
	cmd := exec.CommandContext(t.Context(), self, "-test.run=^"+t.Name()+"$", "-test.v", "-test.timeout=5m")
	cmd.Env = append(os.Environ(), inside+"=1")
	cmd.SysProcAttr = &syscall.SysProcAttr{
		Cloneflags: syscall.CLONE_NEWNET | syscall.CLONE_NEWNS | syscall.CLONE_NEWPID,
		Pdeathsig:  syscall.SIGKILL,
	}
	var out bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &out
	if err := cmd.Start(); err != nil {
		required.Lacks(t, "printing to a real printer program needs namespaces: %v", err)
	}
	if err := cmd.Wait(); err != nil {
		t.Fatalf("%v\n%s", err, out.String())
	}
	for _, c := range cases {
		if !strings.Contains(out.String(), "--- PASS: "+t.Name()+"/"+c.Name+" ") {
			t.Errorf("%s did not pass\n%s", c.Name, out.String())
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
	Until(t, "the D-Bus", Exists("/run/dbus/system_bus_socket"))
	start(t, "avahi-daemon", "--no-drop-root", "--no-chroot", "--no-rlimits")
	Until(t, "avahi", Exists("/run/avahi-daemon/socket"))
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

// Until waits for something that has to come.
func Until(t *testing.T, what string, is func() bool) {
	t.Helper()
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(30 * time.Second); !is(); <-tick.C {
		if time.Now().After(end) {
			t.Fatalf("%s did not come", what)
		}
	}
}

// Exists asks whether a file is there.
func Exists(file string) func() bool {
	return func() bool {
		_, err := os.Stat(file)
		return err == nil
	}
}
