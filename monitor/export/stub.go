package export

var darwinFiles []string

func (w *writer) darwinCore() error { return nil }
