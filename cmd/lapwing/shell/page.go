package shell

import (
	"lapwing/cmd/lapwing/serve"
	"lapwing/report/desk/front"
)

// Assets are the page of the desk, for [serve.Door.Guard].
func Assets() map[string]serve.Asset {
	page, policy := front.Served()
	return map[string]serve.Asset{"/": {Type: "text/html; charset=utf-8", Body: page, Policy: policy}}
}
