//! Forecasts as text, JSON and pictures; runs no physics.
