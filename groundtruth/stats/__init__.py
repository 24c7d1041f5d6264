"""General statistics: random effects, intervals of counts and shares, two means compared."""
