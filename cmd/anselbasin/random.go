package main

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
)

// stream returns the random numbers of one purpose. Each site, file and table
// draws from a stream of its own, so that a change in one leaves the others.
func stream(seed uint64, purpose string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(purpose))
	return rand.New(rand.NewPCG(seed, h.Sum64()))
}

// lognormal draws a positive factor with mean 1 and the given coefficient of
// variation.
func lognormal(r *rand.Rand, cv float64) float64 {
	v := math.Log1p(float64(cv * cv))
	return math.Exp(float64(math.Sqrt(v)*r.NormFloat64()) - float64(v/2))
}

// normals draws n standard normal values.
func normals(r *rand.Rand, n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = r.NormFloat64()
	}
	return out
}

// between draws a value in [low, high).
func between(r *rand.Rand, low, high float64) float64 {
	return low + float64((high-low)*r.Float64())
}

// mean is the plain average.
func mean(v []float64) float64 {
	sum := 0.0
	for _, x := range v {
		sum += x
	}
	return sum / float64(len(v))
}

// dot is the inner product, every product rounded before it is added, so that
// processors with fused multiply-add give the same sum.
func dot(a, b []float64) float64 {
	sum := 0.0
	for i := range a {
		sum += float64(a[i] * b[i])
	}
	return sum
}

// residual returns v less its mean and less what a straight line on each of
// xs would explain (Gram-Schmidt), scaled to the standard deviation sd.
func residual(v []float64, sd float64, xs ...[]float64) []float64 {
	basis := make([][]float64, 0, len(xs))
	for _, x := range xs {
		basis = append(basis, without(x, basis))
	}
	out := without(v, basis)
	scale := sd / math.Sqrt(dot(out, out)/float64(len(out)-1))
	for i := range out {
		out[i] = float64(out[i] * scale)
	}
	return out
}

// without centres v and takes away its projection on each vector of basis,
// which are centred and at right angles to each other.
func without(v []float64, basis [][]float64) []float64 {
	m := mean(v)
	out := make([]float64, len(v))
	for i := range v {
		out[i] = v[i] - m
	}
	for _, b := range basis {
		k := dot(out, b) / dot(b, b)
		for i := range out {
			out[i] -= float64(k * b[i])
		}
	}
	return out
}

// meanOne scales v so that its average is 1.
func meanOne(v []float64) []float64 {
	m := mean(v)
	for i := range v {
		v[i] /= m
	}
	return v
}
