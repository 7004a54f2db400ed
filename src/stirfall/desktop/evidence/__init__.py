"""The evidence page: is it chance, has something drifted, why did this fail, and which explanation holds."""
