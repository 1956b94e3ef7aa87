# Independent checks of the profile, the rank correlation, the variance components and the power, in base R.
#   Rscript inference.R DRIVER SCRATCH
arguments <- commandArgs(trailingOnly = TRUE)
driver <- arguments[1]; scratch <- arguments[2]
dir.create(scratch, showWarnings = FALSE, recursive = TRUE)
set.seed(20261125)
failures <- 0; checks <- 0
check <- function(label, got, wanted, tolerance = 1e-9) {
  checks <<- checks + 1
  same <- if (is.na(got) || is.na(wanted)) is.na(got) && is.na(wanted) else
    identical(as.numeric(got), as.numeric(wanted)) || abs(got - wanted) <= tolerance * max(1, abs(wanted))
  if (!same) { failures <<- failures + 1; cat(sprintf("%s: %.12g, R says %.12g\n", label, got, wanted)) }
}
drive <- function(...) read.csv(text = system2(driver, shQuote(c(...)), stdout = TRUE))
write_and_drive <- function(what, data) {
  file <- file.path(scratch, paste0(what, ".csv"))
  write.csv(data, file, row.names = FALSE, na = "", quote = FALSE)
  drive(what, file)
}

# Rank correlation: cor.test's exact p without ties; with ties every order of y enumerated here.
orders <- function(n) if (n == 1) matrix(1, 1, 1) else {
  shorter <- orders(n - 1)
  do.call(rbind, lapply(1:n, function(first) cbind(first, matrix(setdiff(1:n, first)[shorter], nrow(shorter)))))
}
sets <- list(
  plain4 = list(x = c(1, 2, 3, 4), y = c(1, 3, 2, 4)),
  plain6 = list(x = rnorm(6), y = rnorm(6)),
  plain7 = list(x = rnorm(7), y = rnorm(7)),
  perfect8 = list(x = 1:8, y = (1:8)^2),
  reverse7 = list(x = 1:7, y = -(1:7)),
  plain8 = list(x = rnorm(8), y = rnorm(8)),
  ties6 = list(x = c(1, 1, 2, 3, 3, 5), y = c(2, 1, 4, 4, 6, 5)),
  ties7 = list(x = c(10, 10, 20, 30, 30, 30, 50), y = c(1, 2, 2, 3, 5, 5, 4)),
  missing = list(x = c(1, NA, 3, 4, 5, 2), y = c(2, 5, NA, 1, 7, 4)),
  constant = list(x = c(1, 1, 1, 1, 1), y = 1:5),
  three = list(x = 1:3, y = 3:1))
got <- write_and_drive("spearman", do.call(rbind, lapply(names(sets), function(n) data.frame(set = n, sets[[n]]))))
for (name in names(sets)) {
  set <- sets[[name]]; row <- got[got$index == name, ]
  kept <- !is.na(set$x) & !is.na(set$y); x <- set$x[kept]; y <- set$y[kept]
  if (length(x) < 4 || sd(x) == 0 || sd(y) == 0) { check(paste("rho", name), row$rho, NA); check(paste("p", name), row$p, NA); next }
  rho <- cor(rank(x), rank(y))
  check(paste("rho", name), row$rho, rho)
  if (!any(duplicated(x)) && !any(duplicated(y)))
    p <- cor.test(x, y, method = "spearman", exact = TRUE)$p.value
  else {
    all <- apply(orders(length(y)), 1, function(o) cor(rank(x), rank(y)[o]))
    p <- mean(abs(all) >= abs(rho) - 1e-9)
  }
  check(paste("p", name), row$p, p)
  check(paste("n", name), row$n, length(x))
}
# Beyond 8 pairs p comes from 99,999 random orders: within 4 standard errors of cor.test's.
x <- rnorm(9); y <- x + rnorm(9)
row <- write_and_drive("spearman", data.frame(set = "nine", x = x, y = y))
p <- cor.test(x, y, method = "spearman", exact = TRUE)$p.value
check("p of nine pairs, random orders", row$p, p, 4 * sqrt(p * (1 - p) / 1e5))

# Profile: t from lm() with the block model on every permutation, maximum over the steps.
profile_by_hand <- function(data) {
  sites <- unique(data[c("site", "class", "block")])
  steps <- unique(data$step)
  value <- sapply(steps, function(k) data$value[data$step == k][match(sites$site, data$site[data$step == k])])
  keep <- rowSums(!is.na(value)) > 0
  sites <- sites[keep, ]; value <- value[keep, , drop = FALSE]
  blocked <- any(sites$block != "")
  if (blocked) {
    whole <- sapply(sites$block, function(b) length(unique(sites$class[sites$block == b])) == 2)
    sites <- sites[whole, ]; value <- value[whole, , drop = FALSE]
  }
  t_of <- function(is_a, y) {
    ok <- !is.na(y)
    if (blocked) ok <- ok & sapply(seq_along(y), function(i) {
      here <- ok & sites$block == sites$block[i]
      any(is_a[here]) && any(!is_a[here])
    })
    a <- is_a[ok]; z <- y[ok]; b <- factor(sites$block[ok])
    if (sum(a) < 2 || sum(!a) < 2) return(c(NA, NA))
    fit <- if (blocked && nlevels(b) > 1) lm(z ~ b + a) else lm(z ~ a)
    rest <- sum(resid(fit)^2); base <- sum(resid(if (blocked && nlevels(b) > 1) lm(z ~ b) else lm(z ~ 1))^2)
    estimate <- coef(fit)[["aTRUE"]]
    if (base <= 1e-20) return(c(0, 0))
    if (rest <= 1e-13 * base) return(c(estimate, sign(estimate) * Inf))
    c(estimate, estimate / summary(fit)$coefficients["aTRUE", "Std. Error"])
  }
  is_a <- sites$class == "rich"
  ways <- list(rep(FALSE, length(is_a)))
  for (b in unique(sites$block)) {
    members <- which(sites$block == b)
    chosen <- combn(length(members), sum(is_a[members]), simplify = FALSE)
    ways <- unlist(lapply(ways, function(w) lapply(chosen, function(k) { w[members[k]] <- TRUE; w })), recursive = FALSE)
  }
  observed <- apply(value, 2, function(y) t_of(is_a, y))
  tested <- !is.na(observed[2, ])
  all_t <- sapply(ways, function(w) abs(sapply(which(tested), function(k) suppressWarnings(t_of(w, value[, k])[2]))))
  all_t <- matrix(all_t, sum(tested))
  largest <- apply(all_t, 2, max, na.rm = TRUE)
  adjusted <- rep(NA, length(steps))
  adjusted[tested] <- sapply(abs(observed[2, tested]), function(t) mean(largest >= t * (1 - 1e-9)))
  list(difference = observed[1, ], t = observed[2, ], adjusted = adjusted)
}
make_profile <- function(n_a, n_b, steps, blocks, missing) {
  site <- c(paste0("r", 1:n_a), paste0("p", 1:n_b))
  data <- expand.grid(site = site, step = seq_len(steps) - 1, stringsAsFactors = FALSE)
  data$class <- ifelse(grepl("^r", data$site), "rich", "poor")
  number <- as.integer(substring(data$site, 2))
  data$block <- if (blocks > 1) letters[(number - 1) %% blocks + 1] else ""
  data$value <- round(rnorm(nrow(data)) + (data$class == "rich") * data$step / 4, 3)
  if (missing > 0) data$value[sample(nrow(data), missing)] <- NA
  data
}
cases <- list(
  whole = make_profile(4, 4, 4, 1, 0), unequal = make_profile(3, 5, 3, 1, 0),
  patchy = make_profile(4, 4, 4, 1, 6), blocked = make_profile(4, 4, 3, 2, 0),
  blocked_patchy = make_profile(4, 4, 4, 2, 5))
apart <- make_profile(3, 3, 2, 1, 0); apart$value <- ifelse(apart$class == "rich", 2, 1)
apart$value[apart$step == 1] <- 7
cases$apart <- apart
few <- make_profile(3, 3, 3, 1, 0); few$value[few$step == 1 & few$site %in% c("r1", "r2")] <- NA
cases$few <- few
for (name in names(cases)) {
  got <- write_and_drive("profile", cases[[name]])
  wanted <- profile_by_hand(cases[[name]])
  check(paste("profile", name, "rows"), nrow(got), length(wanted$t))
  for (k in seq_len(nrow(got))) {
    check(paste("profile", name, k, "difference"), got$difference[k], wanted$difference[k])
    check(paste("profile", name, k, "t"), got$t[k], wanted$t[k], 1e-7)
    check(paste("profile", name, k, "adjusted p"), got$p_adjusted[k], wanted$adjusted[k])
  }
}

# Variance components: the two-way model of site and date by lm(), on a design with nights missing and dates that
# shift all sites; site values by the marginal means of that model.
site_effect <- rnorm(8, 0, 2); date_effect <- rnorm(6, 0, 5)
data <- expand.grid(segment = 1:5, date = 1:6, site = 1:8)
data$class <- ifelse(data$site <= 4, "rich", "poor")
data$y <- site_effect[data$site] + date_effect[data$date] + rnorm(48, 0, 1.2)[(data$site - 1) * 6 + data$date] +
  rnorm(nrow(data), 0, 0.7)
for (missing in list(integer(0), c(3, 9, 10, 30))) {
  kept <- data[!((data$site - 1) * 6 + data$date) %in% missing, ]
  means <- aggregate(y ~ site + class + date, kept, mean)
  means$variance <- aggregate(y ~ site + class + date, kept, var)$y
  got <- write_and_drive("variance", data.frame(site = paste0("s", means$site), class = means$class,
    date = sprintf("2026-03-%02d", means$date), segments = 5, mean = means$y, variance = means$variance))
  fit <- lm(y ~ factor(site) + factor(date), means)
  grid <- expand.grid(site = 1:8, date = 1:6)
  values <- tapply(predict(fit, grid), grid$site, mean)
  site_values <- summary(lm(values ~ rep(c("rich", "poor"), each = 4)))$sigma^2
  nights <- summary(fit)$sigma^2
  dates <- 8 / sum(1 / table(means$site))
  within <- mean(means$variance)
  check("within dates", got$within_date, within)
  check("site by date", got$site_by_date, max(0, nights - within / 5))
  check("between sites", got$between_sites, max(0, site_values - nights / dates))
  check("share", got$share_between_sites, got$between_sites / site_values)
  width <- function(n, d) 2 * qt(0.975, 8 * n - 2) *
    sqrt((site_values - min(nights / dates, site_values) * (1 - 1 / d)) / (2 * n))
  check("width now", got$width_now, width(1, 1)); check("width, twice the sites", got$width_double_sites, width(2, 1))
  check("width, twice the dates", got$width_double_dates, width(1, 2))
}

# Power: own simulation in R, within 4 standard errors of both.
power_by_hand <- function(n_a, n_b, blocks, effect, simulations) {
  ways <- combn(n_a + n_b, n_a)
  one_block <- function(y) apply(ways, 2, function(k) mean(y[k]) - mean(y[-k]))
  seen <- replicate(simulations, {
    t <- 0
    for (b in seq_len(blocks)) {
      y <- rnorm(n_a + n_b) + c(rep(effect, n_a), rep(0, n_b))
      # First column of combn() is 1..n_a: the observed labels.
      t <- as.vector(outer(t, one_block(y), "+"))
    }
    mean(abs(t) >= abs(t[1]) - 1e-9) <= 0.05
  })
  mean(seen)
}
for (case in list(c(4, 4, 1, 1.5), c(3, 5, 1, 2), c(5, 5, 1, 1), c(2, 2, 3, 1.5))) {
  got <- drive("power", case, 4000)
  wanted <- power_by_hand(case[1], case[2], case[3], case[4], 1500)
  error <- sqrt(wanted * (1 - wanted) / 1500 + got$standard_error^2)
  check(paste(c("power", case), collapse = " "), got$power, wanted, 4 * error)
}
check("power where no result can be significant", drive("power", 3, 3, 1, 9, 100)$power, 0)
cat(sprintf("%d comparisons with R, %d differ\n", checks, failures))
quit(status = if (failures > 0) 1 else 0)
