"""What a label may and must say: names, order, net weight, allergens, dates, claims. Pure.

The law stands in tables/law and tables/names as dated data; here are the rules that read it.
"""
