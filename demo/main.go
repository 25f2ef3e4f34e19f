// The demo is a whole invented crib in one process: to try the counter, to teach
// it and to test it from end to end. Without a command it builds a crib of 300
// slings with two years of history and serves it on this machine.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := interrupted()
	code := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// interrupted is a context that ends with Ctrl-C.
func interrupted() (context.Context, context.CancelFunc) {
	return signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
}
