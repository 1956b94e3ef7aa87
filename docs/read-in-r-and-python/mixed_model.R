# Reads Hearwood's tables with R's own readers and fits a mixed model: stand (and block) as fixed effects, site as
# random effect, a row for each site and date.
#   Rscript mixed_model.R SURVEY/hearwood/tables INDEX WINDOW [BLOCK]
# BLOCK is a column of sites.csv, such as river. Needs the package nlme (Debian: r-cran-nlme).
arguments <- commandArgs(trailingOnly = TRUE)
if (length(arguments) < 3) stop("usage: Rscript mixed_model.R TABLES INDEX WINDOW [BLOCK]")
tables <- arguments[1]; index <- arguments[2]; window <- arguments[3]
block <- if (length(arguments) > 3) arguments[4] else NA

values <- read.csv(file.path(tables, "site_windows.csv"), stringsAsFactors = FALSE)
sites <- read.csv(file.path(tables, "sites.csv"), stringsAsFactors = FALSE)
contrasts_table <- read.csv(file.path(tables, "contrasts.csv"), stringsAsFactors = FALSE)
values <- values[values$window == window & !is.na(values[[index]]), ]
values$y <- values[[index]]

# The pair and its order are the contrast's: A minus B.
row <- contrasts_table[contrasts_table$index == index & contrasts_table$window == window, ]
values <- values[values$stand %in% c(row$class_a, row$class_b), ]
values$stand <- factor(values$stand, levels = c(row$class_b, row$class_a))
values$site <- factor(values$site)
fixed <- y ~ stand
if (!is.na(block)) {
  values$block <- factor(sites[[block]][match(values$site, sites$site)])
  fixed <- y ~ stand + block
}

library(nlme)
fit <- lme(fixed, random = ~ 1 | site, data = values, method = "REML",
           control = lmeControl(opt = "optim", maxIter = 200, msMaxIter = 200))
stand <- summary(fit)$tTable[2, ]
deviations <- as.numeric(VarCorr(fit)[, "StdDev"])

cat("quantity,value\n")
cat(sprintf("difference,%.9g\n", stand[["Value"]]))
cat(sprintf("standard_error,%.9g\n", stand[["Std.Error"]]))
cat(sprintf("site_deviation,%.9g\n", deviations[1]))
cat(sprintf("date_deviation,%.9g\n", deviations[2]))
cat(sprintf("sites,%d\n", nlevels(droplevels(values$site))))
cat(sprintf("rows,%d\n", nrow(values)))
cat(sprintf("permutation_difference,%.9g\n", row$difference))
