package features

import (
	"strings"

	"lapwing/coverage/book"
)

// describe is the description of routes (OpenAPI 3.0.3) that are at an address.
func describe(routes []route, at string) object {
	if at == "" {
		at = "/"
	}
	paths := object{}
	for _, r := range routes {
		params := []object{}
		for _, p := range r.params {
			params = append(params, p.describe())
		}
		given := object{"schema": object{"type": "string", "format": "binary"}}
		if r.gives.schema != nil {
			given = object{"schema": r.gives.schema}
		}
		answers := object{
			"200": object{"description": r.about, "content": object{r.gives.kind: given}},
			"400": refused("a parameter is wrong: what was found, and what is wanted"),
			"500": refused("a fault of the server"),
		}
		if r.empty {
			answers["204"] = object{"description": "nothing is there"}
		}
		if strings.Contains(r.path, "{") {
			answers["404"] = refused("there is no such thing, or none that whoever asks may see")
		}
		paths[r.path] = object{"get": object{"operationId": r.name, "summary": r.about, "parameters": params, "responses": answers}}
	}
	return object{
		"openapi": "3.0.3",
		"info":    object{"title": "Fields", "version": "1.0.0", "description": about},
		"servers": []object{{"url": at}},
		"paths":   paths,
		"components": object{
			"schemas": object{
				"exception": object{"type": "object", "required": []string{"code", "description"}, "additionalProperties": false,
					"properties": object{"code": object{"type": "string"}, "description": object{"type": "string"}}},
				"link": object{"type": "object", "required": []string{"href", "rel"}, "additionalProperties": false,
					"properties": object{"href": object{"type": "string"}, "rel": object{"type": "string"}, "type": object{"type": "string"},
						"title": object{"type": "string"}, "templated": object{"type": "boolean"}}},
				"collection": collectionBody,
			},
			"securitySchemes": object{"token": object{"type": "http", "scheme": "bearer", "description": "a token of a person; a browser that is signed in needs none"}},
		},
		"security": []object{{"token": []string{}}, {}},
	}
}

// describe describes a parameter.
func (p *param) describe() object {
	d := object{"name": p.name, "in": "query", "description": p.about, "required": p.inPath}
	if p.inPath {
		d["in"] = "path"
	}
	for name, value := range p.more {
		d[name] = value
	}
	return d
}

func refused(why string) object {
	return object{"description": why, "content": object{jsonKind: object{"schema": ref("exception")}}}
}

func ref(name string) object { return object{"$ref": "#/components/schemas/" + name} }

func listOf(of object) object { return object{"type": "array", "items": of} }

// whole is an object that has all that it may have.
func whole(properties object, required ...string) object {
	return object{"type": "object", "properties": properties, "required": required, "additionalProperties": false}
}

// The schemas of what is given.
var (
	text = object{"type": "string"}

	landingSchema     = whole(object{"title": text, "description": text, "links": listOf(ref("link"))}, "title", "description", "links")
	conformanceSchema = whole(object{"conformsTo": listOf(text)}, "conformsTo")
	collectionsSchema = whole(object{"links": listOf(ref("link")), "collections": listOf(ref("collection"))}, "links", "collections")
	collectionSchema  = ref("collection")

	corner         = object{"type": "array", "minItems": 4, "maxItems": 4, "items": object{"type": "number"}}
	interval       = object{"type": "array", "minItems": 2, "maxItems": 2, "items": object{"type": "string", "format": "date-time"}}
	collectionBody = whole(object{
		"id": text, "title": text, "description": text, "itemType": text, "crs": listOf(text), "links": listOf(ref("link")),
		"extent": object{"type": "object", "additionalProperties": false, "properties": object{
			"spatial":  whole(object{"bbox": object{"type": "array", "minItems": 1, "items": corner}, "crs": text}, "bbox", "crs"),
			"temporal": whole(object{"interval": object{"type": "array", "minItems": 1, "items": interval}, "trs": text}, "interval", "trs"),
		}},
	}, "id", "title", "description", "itemType", "crs", "links")
)

// itemsSchema is of a page of features.
func itemsSchema(l book.Layer) object {
	count := object{"type": "integer", "minimum": 0}
	return whole(object{
		"type": object{"type": "string", "enum": []string{"FeatureCollection"}}, "timeStamp": object{"type": "string", "format": "date-time"},
		"numberMatched": count, "numberReturned": count, "links": listOf(ref("link")), "features": listOf(featureSchema(l, false)),
	}, "type", "timeStamp", "numberMatched", "numberReturned", "links", "features")
}

// itemSchema is of one feature.
func itemSchema(l book.Layer) object { return featureSchema(l, true) }

func featureSchema(l book.Layer, alone bool) object {
	values := object{}
	names := []string{}
	for _, p := range l.Properties {
		value := object{"description": p.About, "nullable": true}
		switch p.Kind {
		case book.Integer:
			value["type"], value["format"] = "integer", "int64"
		case book.Real:
			value["type"] = "number"
		case book.Truth:
			value["type"] = "boolean"
		case book.Moment:
			value["type"], value["format"] = "string", "date-time"
		default:
			value["type"] = "string"
		}
		values[p.Name], names = value, append(names, p.Name)
	}
	place := object{"type": "array", "minItems": 2, "maxItems": 2, "items": object{"type": "number"}}
	kind, coordinates := "MultiPolygon", listOf(listOf(object{"type": "array", "minItems": 4, "items": place}))
	if l.Lines {
		kind, coordinates = "MultiLineString", listOf(object{"type": "array", "minItems": 2, "items": place})
	}
	shape := whole(object{"type": object{"type": "string", "enum": []string{kind}}, "coordinates": coordinates}, "type", "coordinates")
	shape["nullable"] = true
	members := object{
		"type": object{"type": "string", "enum": []string{"Feature"}}, "id": object{"type": "integer", "format": "int64"},
		"geometry": shape, "properties": whole(values, names...),
	}
	required := []string{"type", "id", "geometry", "properties"}
	if alone {
		members["links"], required = listOf(ref("link")), append(required, "links")
	}
	return whole(members, required...)
}
