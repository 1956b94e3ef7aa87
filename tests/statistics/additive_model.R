# The additive model against R's lm() with treatment contrasts: the value of a site is the mean of its
# predictions over all dates and cells, leans comes from the unscaled covariance of the coefficients.
arguments <- commandArgs(trailingOnly = TRUE)
dir.create(arguments[2], showWarnings = FALSE, recursive = TRUE)
path <- file.path(arguments[2], "rows.txt")
set.seed(7)
worst <- 0
for (trial in 1:30) {
  sites <- sample(3:6, 1); dates <- sample(2:6, 1); cells <- sample(2:5, 1)
  d <- expand.grid(site = seq_len(sites) - 1, date = seq_len(dates), cell = seq_len(cells))
  d <- d[runif(nrow(d)) < sample(c(0.6, 0.8, 1), 1), ]
  if (length(unique(d$site)) < sites) next
  d$y <- rnorm(nrow(d), 20 + d$site - d$date / 3 + d$cell)
  write(c(sites, 1), path)
  write.table(format(d, digits = 17), path, append = TRUE, quote = FALSE, row.names = FALSE, col.names = FALSE)
  got <- read.table(text = system2(arguments[1], shQuote(path), stdout = TRUE))
  parts <- list(site = factor(d$site), date = factor(d$date), cell = factor(d$cell))
  parts <- parts[vapply(parts, nlevels, 1L) > 1]
  fit <- lm(reformulate(names(parts), "d$y"), data = as.data.frame(parts))
  if (anyNA(coef(fit))) next
  grid <- expand.grid(lapply(parts, levels))
  predicted <- predict(fit, grid)
  design <- model.matrix(delete.response(terms(fit)), grid)
  covariance <- summary(fit)$cov.unscaled
  rows <- t(sapply(levels(parts$site), function(s) colMeans(design[grid$site == s, , drop = FALSE])))
  levels_used <- length(unique(d$date)) * length(unique(d$cell))
  for (s in seq_len(sites)) {
    value <- mean(predicted[grid$site == levels(parts$site)[s]])
    contrast <- rows[s, ] - colMeans(rows)
    leans <- drop(contrast %*% covariance %*% contrast) * levels_used / (1 - 1 / sites)
    worst <- max(worst, abs(got$V3[s] - value), abs(got$V6[s] - leans))
    stopifnot(got$V4[s] == sum(d$site == s - 1), got$V5[s] == 1)
  }
}
cat("largest distance from lm():", worst, "\n")
stopifnot(worst > 0, worst < 1e-10)
