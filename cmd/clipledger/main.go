// Command clipledger keeps clipping records of many sites and seasons in one
// SQLite file and says, on a dry-matter basis, what the sites produce, how
// sure that is and whether enough was clipped.
package main

import (
	"context"
	"os"
	"os/signal"
	"time"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	code := Main(ctx, os.Args[1:], Streams{In: os.Stdin, Out: os.Stdout, Err: os.Stderr, Getenv: os.Getenv, Now: time.Now})
	stop()
	os.Exit(code)
}
