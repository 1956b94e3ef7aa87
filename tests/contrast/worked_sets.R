# Independent check of `hearwood contrast --values`: every worked set is computed again here in base R, straight
# from the definitions (docs/statistics.md), by enumerating the permutations with combn() and by bisecting the
# p value of the shifted data for the interval, and compared with what the program wrote.
#   Rscript worked_sets.R PROGRAM FOLDER SCRATCH
arguments <- commandArgs(trailingOnly = TRUE)
program <- arguments[1]; folder <- arguments[2]; scratch <- arguments[3]
dir.create(scratch, showWarnings = FALSE, recursive = TRUE)
failures <- 0; checks <- 0

# All ways to choose which units are of class A, keeping the number of A in every block.
labellings <- function(is_a, block) {
  ways <- list(rep(FALSE, length(is_a)))
  for (b in unique(block)) {
    members <- which(block == b)
    chosen <- combn(length(members), sum(is_a[members]), simplify = FALSE)
    ways <- unlist(lapply(ways, function(so_far) lapply(chosen, function(k) {
      so_far[members[k]] <- TRUE
      so_far
    })), recursive = FALSE)
  }
  ways
}

statistic <- function(y, is_a, block) {
  weights <- numeric(0); differences <- numeric(0)
  for (b in unique(block)) {
    a <- y[block == b & is_a]; z <- y[block == b & !is_a]
    weights <- c(weights, length(a) * length(z) / (length(a) + length(z)))
    differences <- c(differences, mean(a) - mean(z))
  }
  sum(weights * differences) / sum(weights)
}

# The statistic is linear in y: one row of coefficients a labelling, found by feeding it the unit vectors' formula.
coefficients <- function(is_a, block, ways) {
  row_of <- function(w) {
    row <- numeric(length(w)); total <- 0
    for (b in unique(block)) {
      here <- block == b; a <- sum(w & here); z <- sum(!w & here)
      weight <- a * z / (a + z)
      row[here] <- ifelse(w[here], weight / a, -weight / z)
      total <- total + weight
    }
    row / total
  }
  t(vapply(ways, row_of, numeric(length(is_a))))
}

p_value <- function(y, is_a, block, rows) {
  observed <- statistic(y, is_a, block)
  information <- sum(sapply(unique(block), function(b) {
    a <- sum(is_a[block == b]); z <- sum(!is_a[block == b])
    a * z / (a + z)
  }))
  tolerance <- 8 * length(y) * .Machine$double.eps * sum(abs(y)) / information
  mean(abs(rows %*% y) >= abs(observed) - tolerance)
}

# The end of {d : p(d) > alpha} on one side of T, by bisection.
interval_end <- function(y, is_a, block, rows, alpha, side) {
  centre <- statistic(y, is_a, block)
  keeps <- function(d) p_value(y - d * is_a, is_a, block, rows) > alpha
  step <- max(abs(y - mean(y)), abs(centre), 1e-12)
  inside <- 0; outside <- step
  for (i in 1:60) {
    if (!keeps(centre + side * outside)) break
    inside <- outside; outside <- outside * 2
    if (i == 60) return(side * Inf)
  }
  for (i in 1:45) {
    middle <- (inside + outside) / 2
    if (keeps(centre + side * middle)) inside <- middle else outside <- middle
  }
  centre + side * inside
}

# The second p: Welch's without blocks, the statistic over the spread of the blocks' differences with three or more.
unequal_p <- function(y, is_a, block, ways) {
  blocks <- unique(block)
  if (length(blocks) == 2) return(NA)
  if (length(blocks) == 1) {
    if (var(y[is_a]) == 0 && var(y[!is_a]) == 0) return(NA)
    return(t.test(y[is_a], y[!is_a])$p.value)
  }
  studentised <- function(w) {
    size <- sapply(blocks, function(b) { a <- sum(w & block == b); z <- sum(!w & block == b); a * z / (a + z) })
    d <- sapply(blocks, function(b) mean(y[block == b & w]) - mean(y[block == b & !w]))
    weight <- size / sum(size)
    total <- sum(weight * d)
    error <- sqrt(sum(weight^2 * (d - total)^2))
    if (error <= 1e-12 * max(abs(y))) { if (abs(total) <= 1e-12 * max(abs(y))) 0 else Inf } else abs(total) / error
  }
  observed <- studentised(is_a)
  if (observed == 0 && all(abs(y - ave(y, block)) < 1e-12)) return(NA)
  mean(vapply(ways, studentised, 0) >= observed * (1 - 1e-9))
}
spread_ratio <- function(y, is_a, block) {
  deviation <- function(mine) {
    df <- sum(mine) - length(unique(block[mine]))
    if (df <= 0) return(NA)
    sqrt(sum((y[mine] - ave(y[mine], block[mine]))^2) / df)
  }
  both <- c(deviation(is_a), deviation(!is_a))
  if (anyNA(both) || max(both) == 0) NA else max(both) / min(both)
}

# Step-down max-t over the outcomes of a data frame of complete sites; t by lm() on every labelling.
max_t <- function(data, class_a, class_b, outcomes) {
  data <- data[paste(data$index, data$window) %in% paste(outcomes$index, outcomes$window), ]
  data <- data[data$class %in% c(class_a, class_b) & !is.na(data$value), ]
  block <- if (is.null(data$block)) rep("", nrow(data)) else as.character(data$block)
  sites <- unique(data.frame(site = data$site, class = data$class, block = block, stringsAsFactors = FALSE))
  if (any(block != "")) {
    whole <- vapply(sites$block, function(b) length(unique(sites$class[sites$block == b])) == 2, TRUE)
    sites <- sites[whole, ]
  }
  is_a <- sites$class == class_a
  if (sum(is_a) < 2 || sum(!is_a) < 2) return(rep(NA, nrow(outcomes)))
  values <- sapply(seq_len(nrow(outcomes)), function(i) {
    mine <- data[data$index == outcomes$index[i] & data$window == outcomes$window[i], ]
    mine$value[match(sites$site, mine$site)]
  })
  t_of <- function(w, y) {
    ok <- !is.na(y)
    ok <- ok & sapply(seq_along(y), function(i) length(unique(w[ok & sites$block == sites$block[i]])) == 2)
    if (sum(w[ok]) < 2 || sum(!w[ok]) < 2) return(NA)
    b <- factor(sites$block[ok]); z <- y[ok]; a <- w[ok]
    base <- sum((z - ave(z, b))^2)
    if (base <= 1e-20) return(0)
    x <- a - ave(a, b); e <- z - ave(z, b)
    estimate <- sum(x * e) / sum(x^2)
    rest <- base - estimate^2 * sum(x^2)
    if (rest <= 1e-13 * base) return(Inf)
    abs(estimate) * sqrt(sum(x^2)) / sqrt(rest / (length(z) - nlevels(b) - 1))
  }
  observed <- apply(values, 2, function(y) t_of(is_a, y))
  constant <- apply(values, 2, function(y) { y <- y - ave(y, sites$block, FUN = function(v) mean(v, na.rm = TRUE)); all(abs(y[!is.na(y)]) < 1e-12) })
  family <- which(is.finite(observed) & !constant)
  family <- family[order(-observed[family])]
  adjusted <- rep(NA, ncol(values))
  if (!length(family)) return(adjusted)
  stars <- vapply(labellings(is_a, sites$block), function(w) apply(values[, family, drop = FALSE], 2, function(y) t_of(w, y)),
                  numeric(length(family)))
  stars <- matrix(stars, length(family)); stars[is.na(stars)] <- -1
  running <- 0
  for (k in seq_along(family)) {
    largest <- apply(stars[k:length(family), , drop = FALSE], 2, max)
    running <- max(running, mean(largest >= observed[family[k]] * (1 - 1e-9)))
    adjusted[family[k]] <- running
  }
  adjusted
}

expected_row <- function(data, class_a, class_b, alpha) {
  data <- data[data$class %in% c(class_a, class_b) & !is.na(data$value), ]
  block <- if (is.null(data$block)) rep("", nrow(data)) else as.character(data$block)
  whole <- vapply(block, function(b) length(unique(data$class[block == b])) == 2, TRUE)
  if (any(block != "")) { data <- data[whole, ]; block <- block[whole] }
  is_a <- data$class == class_a; y <- data$value
  row <- list(n_a = sum(is_a), n_b = sum(!is_a))
  empty <- c("mean_a", "mean_b", "difference", "ci_low", "ci_high", "hedges_g", "cliffs_delta", "p", "p_min",
             "permutations", "p_unequal", "spread_ratio")
  if (row$n_a < 2 || row$n_b < 2) { row[empty] <- NA_real_; return(row) }
  ways <- labellings(is_a, block)
  rows <- coefficients(is_a, block, ways)
  row$mean_a <- mean(y[is_a]); row$mean_b <- mean(y[!is_a])
  row$difference <- statistic(y, is_a, block)
  row$p <- p_value(y, is_a, block, rows)
  row$permutations <- length(ways)
  row$p_unequal <- unequal_p(y, is_a, block, ways)
  row$spread_ratio <- spread_ratio(y, is_a, block)
  even <- all(vapply(unique(block), function(b) sum(is_a[block == b]) == sum(!is_a[block == b]), TRUE))
  row$p_min <- (if (even) 2 else 1) / length(ways)
  df <- row$n_a + row$n_b - 2
  pooled <- sqrt(((row$n_a - 1) * var(y[is_a]) + (row$n_b - 1) * var(y[!is_a])) / df)
  row$hedges_g <- if (pooled == 0) NA_real_ else row$difference / pooled * (1 - 3 / (4 * df - 1))
  row$cliffs_delta <- mean(sign(outer(y[is_a], y[!is_a], "-")))
  row$ci_low <- interval_end(y, is_a, block, rows, alpha, -1)
  row$ci_high <- interval_end(y, is_a, block, rows, alpha, 1)
  row
}

compare <- function(case, what, got, wanted, tolerance) {
  checks <<- checks + 1
  same <- if (is.na(wanted) || is.na(got)) is.na(wanted) && is.na(got) else
    identical(got, wanted) || abs(got - wanted) <= tolerance * max(1, abs(wanted))
  if (!same) {
    failures <<- failures + 1
    cat(sprintf("%s: %s is %.12g, R says %.12g\n", case, what, got, wanted))
  }
}

run <- function(file, extra = character(0)) {
  out <- file.path(scratch, basename(file))
  status <- system2(program, shQuote(c("contrast", "--values", file, "--compare", "rich,poor", "--out", out, extra)),
                    stdout = FALSE)
  if (status != 0) stop(file, ": exit code ", status)
  read.csv(out, stringsAsFactors = FALSE)
}

read_case <- function(file) {
  if (grepl("spreadsheet", file)) {
    data <- read.csv2(file, fileEncoding = "UTF-8-BOM", stringsAsFactors = FALSE)
    return(data[data$site != "", ])
  }
  data <- read.csv(file, stringsAsFactors = FALSE)
  if (!is.null(data$block) && all(is.na(data$block))) data$block <- NULL
  data
}

exact <- c("mean_a", "mean_b", "difference", "hedges_g", "cliffs_delta", "p", "p_min", "permutations", "n_a", "n_b",
           "p_unequal", "spread_ratio")
check_case <- function(file, level = 0.95, primary = NULL) {
  case <- sub("\\.csv$", "", basename(file))
  extra <- c(if (level != 0.95) c("--level", level), if (!is.null(primary)) c("--primary", primary))
  rows <- run(file, extra)
  data <- read_case(file)
  outcomes <- unique(data[c("index", "window")])
  compare(case, "number of rows", nrow(rows), nrow(outcomes), 0)
  p <- numeric(0)
  for (i in seq_len(nrow(outcomes))) {
    mine <- data[data$index == outcomes$index[i] & data$window == outcomes$window[i], ]
    theirs <- rows[rows$index == outcomes$index[i] & rows$window == outcomes$window[i], ]
    wanted <- expected_row(mine, "rich", "poor", 1 - level)
    label <- paste(case, outcomes$index[i], outcomes$window[i])
    for (name in exact) compare(label, name, theirs[[name]], wanted[[name]], 1e-9)
    scale <- if (nrow(mine)) max(abs(mine$value), na.rm = TRUE) else 1
    for (name in c("ci_low", "ci_high")) compare(label, name, theirs[[name]], wanted[[name]], 1e-6 * min(1, scale))
    p <- c(p, wanted$p)
  }
  is_primary <- if (is.null(primary)) rep(FALSE, length(p)) else paste(outcomes$index, outcomes$window, sep = ",") == primary
  adjusted <- p
  secondary <- !is_primary & !is.na(p)
  if (any(secondary)) adjusted[secondary] <- max_t(data, "rich", "poor", outcomes[secondary, ])
  for (i in seq_along(p)) compare(paste(case, i), "p_adjusted", rows$p_adjusted[i], adjusted[i], 1e-9)
  compare(case, "rows of primary role", sum(rows$role == "primary"), sum(is_primary), 0)
}

# Permutation F over all classes, by lm() on every permutation of the classes within blocks.
arrangements <- function(labels) {
  if (length(labels) <= 1) return(list(labels))
  result <- list()
  for (first in unique(labels)) {
    rest <- labels[-match(first, labels)]
    result <- c(result, lapply(arrangements(rest), function(tail) c(first, tail)))
  }
  result
}
check_classes <- function(name) {
  file <- file.path(folder, paste0(name, ".csv"))
  run(file)
  rows <- read.csv(file.path(scratch, paste0(name, ".classes.csv")))
  data <- read.csv(file, stringsAsFactors = FALSE)
  sizes <- table(data$class)
  data <- data[data$class %in% names(sizes)[sizes >= 2], ]
  block <- if (is.null(data$block)) rep("", nrow(data)) else data$block
  f_of <- function(labels) {
    null <- if (length(unique(block)) > 1) lm(data$value ~ block) else lm(data$value ~ 1)
    full <- if (length(unique(block)) > 1) lm(data$value ~ block + labels) else lm(data$value ~ labels)
    anova(null, full)$F[2]
  }
  ways <- list(data$class)
  for (b in unique(block)) {
    members <- which(block == b)
    orders <- arrangements(data$class[members])
    ways <- unlist(lapply(ways, function(w) lapply(orders, function(o) { w[members] <- o; w })), recursive = FALSE)
  }
  observed <- f_of(data$class)
  all_f <- vapply(ways, f_of, 0)
  compare(name, "F", rows$f, observed, 1e-9)
  compare(name, "p of F", rows$p, mean(all_f >= observed * (1 - 1e-9)), 1e-9)
  compare(name, "permutations of F", rows$permutations, length(ways), 0)
  compare(name, "least p of F", rows$p_min, mean(all_f >= max(all_f) * (1 - 1e-9)), 1e-9)
}

for (file in sort(list.files(folder, pattern = "\\.csv$", full.names = TRUE)))
  check_case(file)
check_case(file.path(folder, "four_and_four_overlapping.csv"), level = 0.9)
check_case(file.path(folder, "balanced_blocks.csv"), level = 0.99)
check_case(file.path(folder, "three_and_three.csv"), level = 0.9)
check_case(file.path(folder, "family.csv"), primary = "aci,dawn")
check_classes("three_classes")
check_classes("three_classes_in_blocks")
cat(sprintf("%d comparisons with R, %d differ\n", checks, failures))
quit(status = if (failures > 0) 1 else 0)
