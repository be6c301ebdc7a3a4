"""How the pages of this folder become a site: `sphinx-build docs build/docs`."""

project = "backreef"
author = "backreef contributors"
extensions = ["myst_parser", "sphinx.ext.autodoc", "sphinx.ext.napoleon"]
html_theme = "furo"
html_title = "backreef"
html_show_sourcelink = False
html_copy_source = False
autodoc_typehints = "signature"
autodoc_preserve_defaults = True
python_use_unqualified_type_names = True
myst_heading_anchors = 3
