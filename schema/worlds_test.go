package schema_test

import (
	"os"
	"strconv"
	"testing"
)

// worldsVariable sets how many random ledgers the properties are tried on.
const worldsVariable = "CLIPLEDGER_WORLDS"

// worlds is the number of random ledgers to try, unless the variable says it.
func worlds(t *testing.T, usual int) int {
	t.Helper()
	text := os.Getenv(worldsVariable)
	if text == "" {
		return usual
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatalf("%s: %v", worldsVariable, err)
	}
	return n
}
