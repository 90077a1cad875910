package main

import (
	"fmt"
	"os"
	"time"
)

// progress shows a line about long work, on a terminal and nowhere else, and
// returns what ends it.
func (a *app) progress(line func() string) (stop func()) {
	f, ok := a.Err.(*os.File)
	if !ok || a.quiet {
		return func() {}
	}
	info, err := f.Stat()
	if err != nil || info.Mode()&os.ModeCharDevice == 0 {
		return func() {}
	}
	ticker := time.NewTicker(500 * time.Millisecond)
	end, ended := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(ended)
		for {
			select {
			case <-ticker.C:
				fmt.Fprintf(f, "\r%s\x1b[K", line())
			case <-end:
				ticker.Stop()
				fmt.Fprint(f, "\r\x1b[K")
				return
			}
		}
	}()
	return func() { close(end); <-ended }
}
