//go:build geos

package main

import (
	"errors"

	"github.com/twpayne/go-geos"
)

func init() {
	secondOpinion = func(geoJSON string) error {
		g, err := geos.NewGeomFromGeoJSON(geoJSON)
		if err == nil && !g.IsValid() {
			err = errors.New("GEOS: " + g.IsValidReason())
		}
		return err
	}
}
