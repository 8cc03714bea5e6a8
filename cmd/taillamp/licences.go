package main

func showLicences(std stdio) int { return exitGood }
