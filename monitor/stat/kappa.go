// Do two judges put the same things into the same classes more often than
// chance would?
//
// Cohen's kappa for ordered classes, with weights that count a neighbouring
// class as a near miss (Cohen 1960, Educ. Psychol. Meas. 20:37-46; 1968,
// Psychol. Bull. 70:213-220). Its variance is that of Fleiss, Cohen & Everitt
// (1969), Psychol. Bull. 72:323-327, a large-sample one that replaced Cohen's.
// Sources from memory; numbers held to the published examples and R.

package stat

// Kappa is agreement between classes beyond chance.
type Kappa struct {
	Kappa        float64
	Observed     float64 // weighted share of agreement
	Expected     float64 // the same by chance, from the margins
	N            float64
	Variance     float64 // of kappa
	NullVariance float64 // where the truth is chance: for a test of that
}

// LinearWeights count class j for class i as 1 - |i-j|/(k-1).
func LinearWeights(k int) [][]float64 {
	return weights(k, func(distance float64) float64 { return 1 - distance })
}

// QuadraticWeights count class j for class i as 1 - (i-j)²/(k-1)².
func QuadraticWeights(k int) [][]float64 {
	return weights(k, func(distance float64) float64 { return 1 - distance*distance })
}

// IdentityWeights count only the same class: plain kappa.
func IdentityWeights(k int) [][]float64 {
	return weights(k, func(distance float64) float64 {
		if distance == 0 {
			return 1
		}
		return 0
	})
}

func weights(k int, of func(distance float64) float64) [][]float64 {
	w := make([][]float64, k)
	for i := range w {
		w[i] = make([]float64, k)
		for j := range w[i] {
			distance := 0.0
			if i != j {
				distance = float64(max(i-j, j-i)) / float64(k-1)
			}
			w[i][j] = of(distance)
		}
	}
	return w
}

// KappaOf works on a square table of counts, counts[i][j] things that one
// judge put into class i and the other into class j, and weights of agreement
// that are 1 on the diagonal. With shares p, margins pᵢ. and p.ⱼ, and
// w̄ᵢ. = Σⱼ p.ⱼwᵢⱼ, w̄.ⱼ = Σᵢ pᵢ.wᵢⱼ,
//
//	po = ΣΣ wᵢⱼpᵢⱼ,  pe = ΣΣ wᵢⱼpᵢ.p.ⱼ,  κ = (po-pe)/(1-pe)
//	v  = { ΣΣ pᵢⱼ[wᵢⱼ(1-pe) - (w̄ᵢ.+w̄.ⱼ)(1-po)]² - (po·pe - 2pe + po)² } / [n(1-pe)⁴]
//	v₀ = { ΣΣ pᵢ.p.ⱼ[wᵢⱼ - (w̄ᵢ.+w̄.ⱼ)]² - pe² } / [n(1-pe)²]
//
// There is no kappa of an empty table, nor where chance alone agrees fully, as
// with everything in one class.
func KappaOf(counts, w [][]float64) (Kappa, bool) {
	t, ok := newShares(counts, w)
	if !ok {
		return Kappa{}, false
	}
	k := Kappa{N: t.n}
	for i := range w {
		for j := range w {
			k.Observed += w[i][j] * t.p[i][j]
			k.Expected += w[i][j] * t.row[i] * t.col[j]
		}
	}
	if 1-k.Expected < 1e-12 {
		return Kappa{}, false
	}
	k.Kappa = (k.Observed - k.Expected) / (1 - k.Expected)
	t.variances(&k, w)
	return k, true
}

// shares are a table's shares with their margins.
type shares struct {
	n        float64
	p        [][]float64
	row, col []float64
}

func newShares(counts, w [][]float64) (shares, bool) {
	k := len(counts)
	t := shares{p: make([][]float64, k), row: make([]float64, k), col: make([]float64, k)}
	if len(w) != k {
		return t, false
	}
	for i := range counts {
		if len(counts[i]) != k || len(w[i]) != k {
			return t, false
		}
		for _, c := range counts[i] {
			t.n += c
		}
	}
	if !(t.n > 0) {
		return t, false
	}
	for i := range counts {
		t.p[i] = make([]float64, k)
		for j, c := range counts[i] {
			t.p[i][j] = c / t.n
			t.row[i] += c / t.n
			t.col[j] += c / t.n
		}
	}
	return t, true
}

func (t *shares) variances(k *Kappa, w [][]float64) {
	size := len(w)
	byRow, byCol := make([]float64, size), make([]float64, size)
	for i := range size {
		for j := range size {
			byRow[i] += t.col[j] * w[i][j]
			byCol[j] += t.row[i] * w[i][j]
		}
	}
	po, pe := k.Observed, k.Expected
	var sum, null float64
	for i := range size {
		for j := range size {
			both := byRow[i] + byCol[j]
			e := w[i][j]*(1-pe) - both*(1-po)
			sum += t.p[i][j] * e * e
			e = w[i][j] - both
			null += t.row[i] * t.col[j] * e * e
		}
	}
	middle := po*pe - 2*pe + po
	rest := 1 - pe
	k.Variance = max(0, sum-middle*middle) / (t.n * rest * rest * rest * rest)
	k.NullVariance = max(0, null-pe*pe) / (t.n * rest * rest)
}
