"""The phone's face of a shop: the same views and entries as every face, over HTTP.

`serve` starts it, `app` puts it together, `guard` lets in only who may, `site` is what every page
is given, `forms` is the list of what can be entered. All English stands in `text/en.toml`.
"""
