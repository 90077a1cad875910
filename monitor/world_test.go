package monitor_test

import "clipledger/schema/ledgertest"

// world is a set of random records.
type world = ledgertest.World

func newWorld(seed uint64) *world { return ledgertest.NewWorld(seed) }
