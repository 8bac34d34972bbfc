#!/bin/sh
# Opens the desk: what a double click runs on macOS.
cd "$(dirname "$0")" && exec ./lapwing desk
