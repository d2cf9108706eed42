package state

import (
	"maps"
	"reflect"
	"slices"

	"soundings/flows/lists"
)

// A state shares its maps and lists with the states before and after it, so
// that moving on costs what changes and not what there is. Nothing in them is
// changed in place, but for what this very fold or decision has made. The
// functions below are how an event changes a map or a list, and the only way.

// made names the maps and lists that a fold or a decision has made, by where
// they stand in memory. It holds them, so nothing else comes to stand there.
type made map[any]struct{}

// Fork is a copy of k whose changes reach no other state.
func Fork(k Kickoff) Kickoff {
	k.made = made{}
	return k
}

// Kept is k once its changes are done: from now on it is shared.
func Kept(k Kickoff) Kickoff {
	k.made = nil
	cachePlaces(&k)
	return k
}

func placeOf(held any) any { return reflect.ValueOf(held).UnsafePointer() }

func isOurs(k *Kickoff, held any) bool { return lists.Has(k.made, placeOf(held)) }

func makeOurs(k *Kickoff, held any) {
	if k.made == nil {
		k.made = made{}
	}
	k.made[placeOf(held)] = struct{}{}
}

// OwnMap makes the map at m one that can be changed in place, and gives it.
func OwnMap[K comparable, V any](k *Kickoff, m *map[K]V) map[K]V {
	if *m == nil {
		*m = map[K]V{}
	} else if isOurs(k, *m) {
		return *m
	} else {
		*m = maps.Clone(*m)
	}
	makeOurs(k, *m)
	return *m
}

// Put sets one value of a map.
func Put[K comparable, V any](k *Kickoff, m *map[K]V, key K, value V) { OwnMap(k, m)[key] = value }

// Drop takes one value out of a map.
func Drop[K comparable, V any](k *Kickoff, m *map[K]V, key K) {
	if lists.Has(*m, key) {
		delete(OwnMap(k, m), key)
	}
}

// Own makes the list one whose entries can be changed in place, and gives it.
func Own[T any](k *Kickoff, list *[]T) []T {
	if cap(*list) > 0 && !isOurs(k, *list) {
		*list = slices.Clone(*list)
		makeOurs(k, *list)
	}
	return *list
}

// Add appends to a list.
func Add[T any](k *Kickoff, list *[]T, more ...T) {
	if !isOurs(k, *list) {
		*list = slices.Clip(*list) // a state that shares it may append as well
	}
	*list = append(*list, more...)
	makeOurs(k, *list)
}

// Remove takes out of a list what is unwanted.
func Remove[T any](k *Kickoff, list *[]T, unwanted func(T) bool) {
	if slices.ContainsFunc(*list, unwanted) {
		*list = slices.DeleteFunc(Own(k, list), unwanted)
	}
}
