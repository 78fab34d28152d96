"""A recipe file: steps saved for other art. TOML, with mistakes reported by file, line and nearest right word."""

from bladewise.recipe.recipe import Output, Recipe, read_recipe, recipe_text, write_recipe

__all__ = ["Output", "Recipe", "read_recipe", "recipe_text", "write_recipe"]
