# Independent checks of what `hearwood contrast --values` and `--profiles` do beside the contrast: the adjusted contrast
# by lm() under every permutation of the residuals, the gradient by lm() under every order, composition by vegan's
# adonis2() and betadisper() and by aov() of every column, day and pitch by t.test() under every labelling.
#   Rscript sheets.R PROGRAM SCRATCH
suppressMessages(library(vegan))
arguments <- commandArgs(trailingOnly = TRUE)
program <- arguments[1]; scratch <- arguments[2]
dir.create(scratch, showWarnings = FALSE, recursive = TRUE)
set.seed(20261127)
failures <- 0; checks <- 0
check <- function(label, got, wanted, tolerance = 1e-9) {
  checks <<- checks + 1
  same <- if (length(got) != 1 || is.na(got) || is.na(wanted)) length(got) == 1 && is.na(got) && is.na(wanted) else
    identical(as.numeric(got), as.numeric(wanted)) || abs(got - wanted) <= tolerance * max(1, abs(wanted))
  if (!same) { failures <<- failures + 1; cat(sprintf("%s: %s, R says %.12g\n", label, format(got, digits = 12), wanted)) }
}
run <- function(name, data, words, what = "--values") {
  file <- file.path(scratch, paste0(name, ".csv")); out <- file.path(scratch, paste0(name, "_out.csv"))
  write.csv(data, file, row.names = FALSE, na = "", quote = FALSE)
  status <- system2(program, shQuote(c("contrast", what, file, "--compare", "rich,poor", "--out", out, words)), stdout = FALSE)
  if (status != 0) stop(name, ": exit code ", status)
  function(table) read.csv(sub("csv$", paste0(table, ".csv"), out), stringsAsFactors = FALSE)
}
orders <- function(n) if (n == 1) matrix(1, 1, 1) else {
  shorter <- orders(n - 1)
  do.call(rbind, lapply(1:n, function(first) cbind(first, matrix(setdiff(1:n, first)[shorter], nrow(shorter)))))
}
# Every order of the units that keeps each in its block, a row each.
orders_within <- function(block) {
  all <- matrix(seq_along(block), 1)
  for (b in unique(block)) {
    members <- which(block == b); mine <- orders(length(members))
    all <- do.call(rbind, lapply(seq_len(nrow(all)), function(r) {
      rows <- matrix(all[r, ], nrow(mine), length(block), byrow = TRUE)
      rows[, members] <- matrix(members[mine], nrow(mine))
      rows
    }))
  }
  all
}
labellings <- function(is_a, block) {
  ways <- list(rep(FALSE, length(is_a)))
  for (b in unique(block)) {
    members <- which(block == b)
    chosen <- combn(length(members), sum(is_a[members]), simplify = FALSE)
    ways <- unlist(lapply(ways, function(w) lapply(chosen, function(k) { w[members[k]] <- TRUE; w })), recursive = FALSE)
  }
  ways
}

# Freedman & Lane: t of x in lm(reduced + x) for fitted values of the reduced model plus permuted residuals.
design <- function(block, columns) {
  m <- if (length(unique(block)) > 1) model.matrix(~ factor(block)) else matrix(1, length(block), 1)
  cbind(m, columns)
}
t_of <- function(y, reduced, x) {
  fit <- lm.fit(cbind(reduced, x), y)
  df <- length(y) - fit$rank
  k <- ncol(reduced) + 1
  s2 <- sum(fit$residuals^2) / df
  covariance <- chol2inv(fit$qr$qr[seq_len(fit$rank), seq_len(fit$rank), drop = FALSE])
  fit$coefficients[k] / sqrt(s2 * covariance[k, k])
}
freedman_lane <- function(y, reduced, x, ways) {
  base <- lm.fit(reduced, y)
  observed <- abs(t_of(y, reduced, x))
  stars <- apply(ways, 1, function(o) abs(t_of(base$fitted.values + base$residuals[o], reduced, x)))
  mean(stars >= observed * (1 - 1e-9))
}
check_end <- function(label, end, side, y, reduced, x, ways, alpha) {
  if (is.infinite(end)) return(check(label, 0, 1))
  keeps <- function(d) freedman_lane(y - d * x, reduced, x, ways) > alpha
  step <- 1e-7 * max(1, abs(end))
  check(paste(label, "inside"), keeps(end - side * step) + 0, 1)
  check(paste(label, "outside"), keeps(end + side * step) + 0, 0)
  for (far in c(0.1, 0.5, 2)) check(paste(label, "further out"), keeps(end + side * far * max(1, abs(end))) + 0, 0)
}
make_sites <- function(n_a, n_b, blocks) {
  site <- c(paste0("r", 1:n_a), paste0("p", 1:n_b))
  number <- c(1:n_a, 1:n_b)
  data.frame(site, class = ifelse(grepl("^r", site), "rich", "poor"),
             block = if (blocks > 1) letters[(number - 1) %% blocks + 1] else "", stringsAsFactors = FALSE)
}
with_values <- function(sites, y, index = "aci") cbind(sites, index = index, window = "dawn", value = y)
for (case in list(list("plain", 4, 3, 1, 1), list("blocked_two", 5, 4, 2, 2), list("blocked", 4, 4, 2, 1))) {
  sites <- make_sites(case[[2]], case[[3]], case[[4]])
  n <- nrow(sites)
  sites$z1 <- round(rnorm(n, 100, 20) + 8 * (sites$class == "rich"), 1)
  sites$z2 <- round(runif(n), 3)
  columns <- paste0("z", seq_len(case[[5]]))
  y <- round(0.05 * sites$z1 + rnorm(n) + 2 * (sites$class == "rich"), 3)
  got <- run(case[[1]], with_values(sites, y), as.vector(rbind("--adjust", columns)))("adjusted")
  reduced <- design(sites$block, as.matrix(sites[columns])); x <- (sites$class == "rich") + 0
  ways <- orders_within(sites$block)
  fit <- lm(y ~ reduced + x - 1)
  if (n - ncol(reduced) - 1 < 4) { check(paste(case[[1]], "refused"), got$p, NA); check(paste(case[[1]], "with its reason"), nchar(got$reason) > 0, 1); next }
  check(paste(case[[1]], "difference"), got$difference, coef(fit)[["x"]])
  check(paste(case[[1]], "p"), got$p, freedman_lane(y, reduced, x, ways))
  check_end(paste(case[[1]], "low end"), got$ci_low, -1, y, reduced, x, ways, 0.05)
  check_end(paste(case[[1]], "high end"), got$ci_high, 1, y, reduced, x, ways, 0.05)
  check(paste(case[[1]], "no reason"), nchar(got$reason %in% c(NA, "") + 0), 1)
}
# What cannot be separated is not tested, and a site without the column is named.
sites <- make_sites(5, 5, 1); sites$z <- c(101:105, 1:5)
got <- run("inseparable", with_values(sites, rnorm(10)), c("--adjust", "z"))("adjusted")
check("inseparable", got$p, NA); check("inseparable, why", grepl("cannot be separated", got$reason) + 0, 1)
sites$z <- c(NA, rnorm(9))
got <- run("lacking", with_values(sites, rnorm(10)), c("--adjust", "z", "--seed", "3"))("adjusted")
check("lacking is named", grepl("without r1", got$reason) + 0, 1); check("and the rest is tested", is.na(got$p) + 0, 0)

# Gradient: every order of x within blocks; the interval from the definition by bisecting nothing: p(d) at its ends.
gradient_p <- function(y, x, block, ways) {
  e <- y - ave(y, block); xc <- x - ave(x, block)
  stars <- apply(ways, 1, function(o) sum(xc[o] * e))
  mean(abs(stars) >= abs(sum(xc * e)) - 1e-9 * sum(abs(xc * e)))
}
for (case in list(list("slope", 4, 3, 1), list("slope_blocked", 4, 4, 2), list("slope_tied", 4, 4, 1))) {
  sites <- make_sites(case[[2]], case[[3]], case[[4]]); n <- nrow(sites)
  sites$depth <- if (case[[1]] == "slope_tied") c(1, 1, 2, 2, 5, 5, 5, 9) else round(runif(n, 0, 40), 1)
  y <- round(0.1 * sites$depth + rnorm(n), 3); y2 <- round(rnorm(n), 3); y3 <- round(0.05 * sites$depth + rnorm(n), 3)
  data <- rbind(with_values(sites, y, "aci"), with_values(sites, y2, "bi"), with_values(sites, y3, "ndsi"))
  got <- run(case[[1]], data, c("--gradient", "depth", "--primary", "bi,dawn"))("gradient")
  ways <- orders_within(sites$block); reduced <- design(sites$block, NULL)
  fit <- lm(y ~ reduced + sites$depth - 1)
  check(paste(case[[1]], "slope"), got$slope[1], coef(fit)[["sites$depth"]])
  p <- gradient_p(y, sites$depth, sites$block, ways)
  check(paste(case[[1]], "p"), got$p[1], p)
  for (side in c(-1, 1)) {
    end <- if (side < 0) got$ci_low[1] else got$ci_high[1]
    keeps <- function(d) gradient_p(y - d * sites$depth, sites$depth, sites$block, ways) > 0.05
    if (is.infinite(end)) { check(paste(case[[1]], "unbounded"), keeps(side * 1e6) + 0, 1); next }
    check(paste(case[[1]], "inside"), keeps(end - side * 1e-7) + 0, 1)
    check(paste(case[[1]], "outside"), keeps(end + side * 1e-7) + 0, 0)
  }
  given <- design(sites$block, (sites$class == "rich") + 0)
  if (n - ncol(given) - 1 >= 4) {
    check(paste(case[[1]], "slope given class"), got$slope_given_class[1], coef(lm(y ~ given + sites$depth - 1))[["sites$depth"]])
    check(paste(case[[1]], "p given class"), got$p_given_class[1], freedman_lane(y, given, sites$depth, ways))
  } else check(paste(case[[1]], "p given class"), got$p_given_class[1], NA)
  # Step-down over aci and ndsi; bi is declared.
  check(paste(case[[1]], "primary"), got$p_adjusted[2], got$p[2])
  stars <- apply(ways, 1, function(o) sapply(list(y, y3), function(v) abs(t_of(v, reduced, sites$depth[o]))))
  observed <- sapply(list(y, y3), function(v) abs(t_of(v, reduced, sites$depth)))
  first <- which.max(observed); second <- 3 - first
  p1 <- mean(apply(stars, 2, max) >= observed[first] * (1 - 1e-9))
  p2 <- max(p1, mean(stars[second, ] >= observed[second] * (1 - 1e-9)))
  check(paste(case[[1]], "adjusted, larger"), got$p_adjusted[c(1, 3)[first]], p1)
  check(paste(case[[1]], "adjusted, smaller"), got$p_adjusted[c(1, 3)[second]], p2)
}

# Patterns: sites x (hour x band).
make_patterns <- function(sites, hours, lows, shift) {
  cells <- expand.grid(hour = hours, low_hz = lows)
  cells$high_hz <- cells$low_hz + 500
  data <- merge(sites, cells)
  base <- rnorm(nrow(sites), 0, 0.5)
  data$value <- round(rnorm(nrow(data)) + base[match(data$site, sites$site)] +
                        shift * (data$class == "rich" & data$hour %in% c(23, 0) & data$low_hz == 0), 4)
  data
}
matrix_of <- function(data, sites) {
  key <- paste(data$hour, data$low_hz)
  sapply(unique(key), function(k) data$value[key == k][match(sites$site, data$site[key == k])])
}
check_patterns <- function(name, n_a, n_b, blocks, shift, missing = FALSE) {
  sites <- make_sites(n_a, n_b, blocks)
  sites <- sites[order(sites$site), ]
  data <- make_patterns(sites, c(22, 23, 0, 1), c(0, 500, 1000), shift)
  if (missing) data$value[data$site == sites$site[1] & data$hour == 22 & data$low_hz == 500] <- NA
  tables <- run(name, data, character(0), "--profiles")
  composition <- tables("composition"); axes <- tables("ordination"); map <- tables("day_pitch")
  x <- matrix_of(data, sites); left_out <- sum(colSums(is.na(x)) > 0)
  cells <- colnames(x); x <- x[, colSums(is.na(x)) == 0, drop = FALSE]
  block <- factor(sites$block); class <- factor(sites$class); is_a <- sites$class == "rich"
  within <- apply(x, 2, function(v) v - ave(v, block))
  scaled <- sweep(x, 2, sqrt(colSums(within^2) / (nrow(x) - nlevels(block))), "/")
  d <- dist(scaled)
  frame <- data.frame(block, class)
  model <- if (blocks > 1) adonis2(d ~ block + class, frame, permutations = 0, by = "terms") else adonis2(d ~ class, frame, permutations = 0)
  check(paste(name, "F of adonis2"), composition$f, model["class", "F"])
  squares <- rowSums(apply(scaled, 2, function(v) {
    a <- anova(if (blocks > 1) lm(v ~ block + class) else lm(v ~ class))
    c(a["class", "Sum Sq"], a["Residuals", "Sum Sq"])
  }))
  df <- nrow(x) - nlevels(block) - 1
  check(paste(name, "F of aov by columns"), composition$f, squares[1] / squares[2] * df)
  ways <- labellings(is_a, sites$block)
  within_scaled <- apply(scaled, 2, function(v) v - ave(v, block)); total <- sum(within_scaled^2)
  explained <- sapply(ways, function(w) { b <- w - ave(w + 0, block); sum((t(b) %*% within_scaled)^2) / sum(b^2) })
  b <- is_a - ave(is_a + 0, block)
  check(paste(name, "p"), composition$p, mean(explained >= sum((t(b) %*% within_scaled)^2) / sum(b^2) - 1e-9 * total))
  check(paste(name, "cells left out"), composition$cells_left_out, left_out)
  # Dispersion: residual vectors from class and block.
  residuals_of <- function(m, labels) { b <- labels - ave(labels + 0, block); m - b %*% (t(b) %*% m) / sum(b^2) }
  length_f <- function(m, labels) {
    z <- sqrt(rowSums(residuals_of(m, labels)^2))
    a <- anova(if (blocks > 1) lm(z ~ block + labels) else lm(z ~ labels))
    a["labels", "F value"]
  }
  rest <- residuals_of(within_scaled, is_a)
  check(paste(name, "dispersion F"), composition$dispersion_f, length_f(rest, is_a), 1e-8)
  if (blocks == 1)
    check(paste(name, "dispersion F of betadisper"), composition$dispersion_f,
          anova(betadisper(d, class, type = "centroid"))[["F value"]][1], 1e-8)
  f <- sapply(ways, function(w) length_f(rest, w))
  check(paste(name, "dispersion p"), composition$dispersion_p, mean(f >= length_f(rest, is_a) * (1 - 1e-9)))
  coordinates <- cmdscale(d, k = 2, eig = TRUE)
  for (axis in 1:2) {
    check(paste(name, "share", axis), composition[[paste0("share_", axis)]], coordinates$eig[axis] / sum(coordinates$eig))
    wanted <- coordinates$points[, axis]; wanted <- wanted * sign(wanted[which.max(abs(wanted))])
    mine <- axes[[paste0("axis_", axis)]][match(sites$site, axes$site)]
    for (i in seq_along(mine)) check(paste(name, "axis", axis, i), mine[i], wanted[i], 1e-8)
  }
  # Day and pitch.
  t_cells <- function(w) apply(x, 2, function(v) {
    s <- summary(if (blocks > 1) lm(v ~ block + w) else lm(v ~ w))$coefficients
    s["wTRUE", "t value"]
  })
  stars <- sapply(ways, t_cells); observed <- t_cells(is_a)
  least <- (if (all(tapply(is_a, block, mean) == 0.5)) 2 else 1) / length(ways)
  if (least > 0.05) { check(paste(name, "no map"), nrow(map), 0); return(invisible()) }
  hour <- as.integer(sub(" .*", "", colnames(x))); low <- as.numeric(sub(".* ", "", colnames(x)))
  touch <- outer(seq_along(hour), seq_along(hour), function(i, j)
    (low[i] == low[j] & abs(hour[i] - hour[j]) %in% c(1, 23)) | (hour[i] == hour[j] & abs(low[i] - low[j]) == 500))
  masses <- function(t) {
    number <- rep(0, length(t)); found <- numeric(0)
    for (i in which(abs(t) > 2)) if (number[i] == 0) {
      k <- length(found) + 1; todo <- i; number[i] <- k
      while (length(todo)) {
        now <- todo[1]; todo <- todo[-1]
        new <- which(touch[now, ] & number == 0 & abs(t) > 2 & sign(t) == sign(t[now]))
        number[new] <- k; todo <- c(todo, new)
      }
      found[k] <- sum(abs(t[number == k]))
    }
    list(number = number, mass = found)
  }
  heaviest <- apply(stars, 2, function(t) max(0, masses(t)$mass))
  mine <- masses(observed)
  ranked <- order(-abs(observed)); running <- 0; adjusted <- numeric(length(observed))
  for (k in seq_along(ranked)) {
    largest <- apply(abs(stars[ranked[k:length(ranked)], , drop = FALSE]), 2, max)
    running <- max(running, mean(largest >= abs(observed[ranked[k]]) * (1 - 1e-9)))
    adjusted[ranked[k]] <- running
  }
  check(paste(name, "rows of the map"), nrow(map), length(cells))
  for (i in seq_along(observed)) {
    row <- map[map$hour == hour[i] & map$low_hz == low[i], ]
    label <- paste(name, "cell", colnames(x)[i])
    check(paste(label, "t"), row$t, observed[i]); check(paste(label, "adjusted p"), row$p_adjusted, adjusted[i])
    check(paste(label, "mean of A"), row$mean_a, mean(x[is_a, i]))
    in_one <- mine$number[i] > 0
    check(paste(label, "in a cluster"), !is.na(row$cluster) + 0, in_one + 0)
    if (in_one) check(paste(label, "cluster p"), row$cluster_p, mean(heaviest >= mine$mass[mine$number[i]] * (1 - 1e-9)))
  }
}
check_patterns("pattern", 4, 4, 1, 3)
check_patterns("pattern_unequal", 3, 6, 1, 2)
check_patterns("pattern_blocked", 4, 4, 2, 3, missing = TRUE)
check_patterns("pattern_small", 3, 3, 1, 1)
cat(sprintf("%d comparisons with R, %d differ\n", checks, failures))
quit(status = if (failures > 0) 1 else 0)
