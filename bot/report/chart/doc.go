// Package chart draws the map of the assumptions as a picture, and says in
// words what it shows. It knows results of engine, no kickoff and no platform.
//
// Start from two functions:
//
//	Draw      the map as PNG or SVG, with the plan below it where there is one
//	Describe  the same in words, for those who cannot see it
package chart
